import { useEffect, useState } from 'react';
import type { Shift } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Choose, Field } from '../parts/Field.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { usePhone, warnings } from '../phone/index.ts';
import { amounts } from '../shared/units.ts';
import { noTallies, saidWeather, type Weather } from './drafts.ts';
import { Frame } from './Frame.tsx';
import { choicesOf, useNames } from './names.ts';
import { usePrefs } from './prefs.ts';
import { go } from './route.ts';
import { isoLocal, useRamp } from './state.tsx';

interface LastTime {
  readonly launch: string;
  readonly partner: string;
}

/** Where there are more launches than this, a part of a name narrows them down. */
const MANY = 8;

/** Opening a shift: launch and partner as they were the last time, each a tap away from another answer; the weather is today's. */
export function ShiftStart() {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const [last, setLast] = useState<LastTime>();
  const [launch, setLaunch] = useState('');
  const [partner, setPartner] = useState('');
  const [weather, setWeather] = useState<Weather>({});
  const [choosing, setChoosing] = useState(false);
  const phone = usePhone();

  useEffect(() => {
    local.recall<LastTime>('shift').then(
      (l) => {
        if (!l) return;
        setLast(l);
        setLaunch(l.launch);
        setPartner(l.partner);
      },
      () => undefined,
    );
  }, []);

  const launches = [...ramp.books.launches].sort((a, b) => a.body.name.localeCompare(b.body.name));
  const [part, setPart] = useState('');
  const wanted = part.trim().toLowerCase();
  const shown = launches.filter((l) => `${l.body.name} ${names.water(l.body.water)}`.toLowerCase().includes(wanted));
  const chosen = launches.find((l) => l.subject === launch);
  const fixed = ramp.books.units.find((u) => u.body.launch === launch && !u.body.outOfService)?.subject ?? '';
  const [brought, setBrought] = useState<string>();
  const unit = brought ?? fixed;

  const open = async () => {
    const from = isoLocal(new Date());
    const people = [ramp.me, ...(partner ? [partner] : [])].filter(Boolean);
    const said = Object.keys(weather).length > 0;
    const body: Shift = { launch, people, from, ...saidWeather({ said, weather }) };
    const ok = await ramp.saving(async () => {
      const entry = await local.seal('shift', body);
      await local.remember('shift', { launch, partner } satisfies LastTime);
      const draft = {
        id: local.newId(),
        kind: 'shift',
        entry: entry.id,
        launch,
        people,
        from,
        weather,
        said,
        tally: noTallies,
        counted: noTallies,
      } as const;
      await local.saveDraft(draft.id, { ...draft, ...(unit ? { unit } : {}) });
    });
    if (ok) {
      const kept = local.loadDrafts<{ kind: string }>().find((d) => d.value.kind === 'shift');
      if (kept) await ramp.save(kept.value as Parameters<typeof ramp.save>[0]);
      go('home');
    }
  };

  if (choosing || !chosen) {
    return (
      <Frame at="launch">
        <h1>{say('shift.where')}</h1>
        {launches.length > MANY ? (
          <Field id="launch-part" label={say('shift.typeLaunch')}>
            <input id="launch-part" autoComplete="off" value={part} onChange={(e) => setPart(e.target.value)} />
          </Field>
        ) : null}
        {shown.length ? null : <p role="status">{say('shift.noLaunch', { part })}</p>}
        <Tiles across={1}>
          {shown.map((l) => (
            <Tile
              key={l.subject}
              pressed={l.subject === launch}
              sub={names.water(l.body.water)}
              onClick={() => {
                setLaunch(l.subject);
                setChoosing(false);
              }}
            >
              {l.body.name}
            </Tile>
          ))}
        </Tiles>
      </Frame>
    );
  }
  return (
    <Frame at="rest" acts={<Go onClick={open}>{say('shift.open')}</Go>}>
      <h1>{chosen.body.name}</h1>
      <p>{say(last ? 'shift.asLast' : 'shift.first')}</p>
      <Link onClick={() => setChoosing(true)} icon="route">
        {say('shift.otherLaunch')}
      </Link>
      <Partner value={partner} onPick={setPartner} />
      <UnitChoice value={unit} onPick={setBrought} />
      <WeatherTiles value={weather} onPick={setWeather} />
      <section className="box" aria-label={say('shift.phone')}>
        <h2>{say('shift.phone')}</h2>
        <ul>
          <li>{say('shift.rules', { ref: ramp.rule.ref, days: ageDays(ramp.rule.madeAt) })}</li>
          {ramp.rule.confirmed ? null : <li>{say('shift.unconfirmed')}</li>}
          <li>{unit ? say('shift.unit', { name: names.unit(unit) }) : say('shift.noUnit')}</li>
          {warnings(ramp.status, phone).map((w) => (
            <li key={w.code}>
              <strong>{say(`warn.${w.code}`, w.values)}</strong>
            </li>
          ))}
        </ul>
      </section>
    </Frame>
  );
}

function ageDays(at: string | undefined): number {
  return at ? Math.max(0, Math.floor((Date.now() - Date.parse(at)) / 86_400_000)) : 0;
}

function Partner({ value, onPick }: { value: string; onPick: (p: string) => void }) {
  const say = useSay();
  const { people, me } = useRamp();
  const others = people.filter(
    (p) => p.subject !== me && !p.body.left && p.body.roles.some((r) => r === 'steward' || r === 'technician'),
  );
  return (
    <Choose
      id="partner"
      label={say('shift.partner')}
      value={value}
      none={say('shift.alone')}
      among={choicesOf(others)}
      onPick={onPick}
    />
  );
}

/** The machine at hand: the one that stands here, a mobile one, or none. */
function UnitChoice({ value, onPick }: { value: string; onPick: (u: string) => void }) {
  const say = useSay();
  const { books } = useRamp();
  return (
    <Choose
      id="unit"
      label={say('shift.hotWater')}
      value={value}
      none={say('shift.noUnit')}
      among={choicesOf(books.units.filter((u) => !u.body.outOfService))}
      onPick={onPick}
    />
  );
}

/** Five airs that a steward tells apart without an instrument; each stands for the cool and damp side of what it names. */
export const airs: readonly {
  readonly key: 'cold' | 'cool' | 'mild' | 'warm' | 'hot';
  readonly airC: number;
  readonly rhPct: number;
}[] = [
  { key: 'cold', airC: 5, rhPct: 80 },
  { key: 'cool', airC: 12, rhPct: 70 },
  { key: 'mild', airC: 18, rhPct: 60 },
  { key: 'warm', airC: 24, rhPct: 55 },
  { key: 'hot', airC: 30, rhPct: 50 },
];

/** The air, one of five, and whether it rains, each tapped by itself and each untapped by a second tap: what nobody tapped is not known. */
function WeatherTiles({ value, onPick }: { value: Weather; onPick: (w: Weather) => void }) {
  const say = useSay();
  const { units } = usePrefs();
  const { temp } = amounts(units, 'en');
  const { airC, rhPct, wet } = value;
  const air = airC === undefined || rhPct === undefined ? {} : { airC, rhPct };
  const rain = wet === undefined ? {} : { wet };
  const parts = [airC, wet].filter((p) => p !== undefined).length;
  return (
    <fieldset className="plain">
      <legend>{say('shift.weather')}</legend>
      <p role="status">{say(`shift.weather.${parts as 0 | 1 | 2}`)}</p>
      <Tiles across={3}>
        {airs.map((a) => (
          <Tile
            key={a.key}
            pressed={airC === a.airC}
            sub={temp(a.airC)}
            onClick={() => onPick({ ...rain, ...(airC === a.airC ? {} : { airC: a.airC, rhPct: a.rhPct }) })}
          >
            {say(`shift.air.${a.key}`)}
          </Tile>
        ))}
      </Tiles>
      <Tiles>
        {([true, false] as const).map((w) => (
          <Tile
            key={String(w)}
            icon={w ? 'water' : 'sun'}
            pressed={wet === w}
            onClick={() => onPick({ ...air, ...(wet === w ? {} : { wet: w }) })}
          >
            {say(w ? 'shift.rain' : 'shift.noRain')}
          </Tile>
        ))}
      </Tiles>
    </fieldset>
  );
}
