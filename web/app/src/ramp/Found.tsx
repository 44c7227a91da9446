import { type ReactNode, useEffect, useRef, useState } from 'react';
import type { Check, Finding, OrganismWord, Place, RoundStop } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Icon } from '../parts/Icon.tsx';
import { Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { amounts } from '../shared/units.ts';
import { type Boat, done, secondsEach } from './boat.ts';
import { Frame } from './Frame.tsx';
import { nameOf } from './legs.ts';
import { usePrefs } from './prefs.ts';
import { useRamp } from './state.tsx';
import { PlacePick } from './Wet.tsx';

const matters = ['plant', 'attached_animal', 'loose_animal', 'mud', 'water', 'egg', 'bait', 'other'] as const;
type Matter = (typeof matters)[number];
const counts = ['1', '2-10', '11-100', '>100'] as const;
/** Bands of water; the record keeps the top of the band, because unknown counts as more. */
const volumesL = [0.1, 1, 10, 100] as const;

/** Which group of the library can be meant by a matter; names outside of it would only be in the way. */
const groups: Partial<Record<Matter, readonly string[]>> = {
  plant: ['plant', 'alga'],
  attached_animal: ['mussel', 'snail', 'clam'],
  loose_animal: ['water_flea', 'crayfish', 'snail', 'clam', 'fish'],
};

const animal = (m: Matter) => m === 'attached_animal' || m === 'loose_animal' || m === 'egg';

interface Part {
  readonly stop?: RoundStop;
  readonly matter?: Matter;
  readonly organism?: NonNullable<Finding['organism']>;
  readonly amount?: (typeof counts)[number];
  readonly volumeL?: number;
}

/** The place that needs no asking: the one that was tapped, or the only one there is. */
const given = (stops: readonly RoundStop[], place: string | undefined) =>
  stops.find((s) => s.place === place) ?? (stops.length === 1 ? stops[0] : undefined);

function without(part: Part, key: 'amount' | 'organism'): Part {
  const { [key]: _, ...rest } = part;
  return rest;
}

/** A find in a few taps: where, what, how much; of an animal also which and whether it lives. */
export function FoundSteps({
  boat,
  stops,
  place,
  onDone,
}: {
  boat: Boat;
  stops: readonly RoundStop[];
  place: string | undefined;
  onDone: () => void;
}) {
  const say = useSay();
  const { act, library } = useRamp();
  const { volume } = amounts(usePrefs().units, 'en');
  const [part, setPart] = useState<Part>(() => {
    const stop = given(stops, place);
    return stop ? { stop } : {};
  });
  const asked = given(stops, place) === undefined;
  const { stop, matter } = part;
  const save = async (more: Partial<Finding>) => {
    if (!stop || !matter) return;
    const finding: Finding = {
      id: local.newId(),
      place: stop.place,
      matter,
      ...(part.organism ? { organism: part.organism, confidence: 'likely' } : {}),
      ...(part.amount ? { amount: part.amount } : {}),
      ...(part.volumeL ? { volumeL: part.volumeL } : {}),
      removed: 'none',
      ...more,
    };
    // What is found says how wet the place is only where it is water; the rest of the leg's answer says the rest.
    const { wet: _, ...seen } = done(stop, 'water', secondsEach(boat, Date.now(), 1));
    const check: Check = matter === 'water' ? { ...seen, wet: 'water' } : seen;
    if (await act(boat.id, { do: 'found', finding, check })) onDone();
  };
  if (!stop)
    return (
      <PlacePick
        title="found.where"
        stops={stops}
        onPick={(s) => setPart({ ...(s[0] ? { stop: s[0] } : {}) })}
        onBack={onDone}
      />
    );

  /** One question back, as far as the one that this began with. */
  const back = () => {
    if (part.amount !== undefined) setPart(without(part, 'amount'));
    else if (part.organism !== undefined) setPart(without(part, 'organism'));
    else if (matter) setPart({ stop });
    else if (asked) setPart({});
    else onDone();
  };
  const frame = (at: string, title: string, tiles: ReactNode, text?: string) => (
    <Frame
      leave={back}
      at={`found-${at}`}
      acts={
        <Tile icon="undo" onClick={back}>
          {say('walk.back')}
        </Tile>
      }
    >
      <h1>{title}</h1>
      {text ? <p>{text}</p> : null}
      {tiles}
    </Frame>
  );
  if (!matter) {
    return frame(
      'what',
      stop.name,
      <>
        <p>{stop.say}</p>
        <Tiles>
          {matters.map((m) => (
            <Tile key={m} icon={m} onClick={() => setPart({ ...part, matter: m })}>
              {say(`matter.${m}`)}
            </Tile>
          ))}
        </Tiles>
      </>,
    );
  }
  if (matter === 'water' && part.volumeL === undefined) {
    return frame(
      'volume',
      say('found.volume'),
      <Tiles across={1}>
        {volumesL.map((v) => (
          <Tile key={v} onClick={() => save({ volumeL: v })}>
            {say('found.upTo', { v: volume(v) })}
          </Tile>
        ))}
        <Tile onClick={() => save({ volumeL: 1000 })}>{say('found.moreThan', { v: volume(100) })}</Tile>
      </Tiles>,
    );
  }
  if ((matter === 'attached_animal' || matter === 'loose_animal') && part.organism === undefined) {
    return frame(
      'which',
      say('found.which'),
      <Which organisms={named(library?.organisms ?? [], matter)} onPick={(o) => setPart({ ...part, organism: o })} />,
      say('found.whichWhy'),
    );
  }
  if (part.amount === undefined) {
    return frame(
      'amount',
      say('found.amount'),
      <Tiles>
        {counts.map((c) => (
          <Tile key={c} onClick={() => (animal(matter) ? setPart({ ...part, amount: c }) : save({ amount: c }))}>
            {say(`amount.${c}`)}
          </Tile>
        ))}
      </Tiles>,
    );
  }
  return frame(
    'alive',
    say('found.alive'),
    <Tiles across={1}>
      {(['alive', 'uncertain', 'dead', 'mixedLot'] as const).map((v) => (
        <Tile
          key={v}
          onClick={() => save({ vitality: v })}
          sub={v === 'uncertain' ? say('found.uncertainSub') : undefined}
        >
          {say(`vitality.${v}`)}
        </Tile>
      ))}
    </Tiles>,
  );
}

function named(all: readonly OrganismWord[], matter: Matter): OrganismWord[] {
  const of = groups[matter];
  return all.filter((o) => !of || of.includes(o.group));
}

function Which({
  organisms,
  onPick,
}: {
  organisms: readonly OrganismWord[];
  onPick: (o: NonNullable<Finding['organism']>) => void;
}) {
  const say = useSay();
  return (
    <Tiles>
      <Tile onClick={() => onPick('')} sub={say('found.notSureSub')}>
        {say('ask.notSure')}
      </Tile>
      {organisms.map((o) => (
        <Tile
          key={o.id}
          onClick={() => onPick(o.id as NonNullable<Finding['organism']>)}
          sub={<i lang="la">{o.scientific}</i>}
        >
          {o.common}
        </Tile>
      ))}
      <Tile onClick={() => onPick('other')}>{say('found.noneOfThese')}</Tile>
    </Tiles>
  );
}

/** A find with what may still be said of it: a photo, a name, that it is off. */
export function FindingCard({ boat, index, places }: { boat: Boat; index: number; places: readonly Place[] }) {
  const say = useSay();
  const { act, library, saving, status } = useRamp();
  const [naming, setNaming] = useState(false);
  const file = useRef<HTMLInputElement>(null);
  const f = boat.findings[index];
  if (!f) return null;
  const organism = library?.organisms.find((o) => o.id === f.organism)?.common;
  const photos = boat.photos.filter((p) => p.finding === index);
  const take = async (picked: File | undefined) => {
    let sha256 = '';
    // The act takes its own turn after this one: inside of it, it would wait for itself.
    const ok = picked && (await saving(async () => (sha256 = (await local.photos.add(picked)).sha256)));
    if (ok) await act(boat.id, { do: 'photo', finding: index, sha256 });
  };
  return (
    <section className="box found-card" aria-label={say('found.card', { n: index + 1 })}>
      <h2>
        <Icon name={f.matter as 'plant'} /> {organism ?? say(`matter.${f.matter as Matter}`)}
      </h2>
      <p>
        {nameOf(places, f.place)} ·{' '}
        {f.matter === 'water' ? '' : say(`amount.${(f.amount ?? '1') as (typeof counts)[number]}`)}
      </p>
      {photos.map((p) => (
        <Shot key={p.sha256} sha256={p.sha256} />
      ))}
      <Tiles>
        <Tile
          icon={f.matter === 'water' ? 'drain' : 'feel'}
          pressed={f.removed === 'all'}
          onClick={() =>
            act(boat.id, { do: 'mend', finding: index, change: { removed: f.removed === 'all' ? 'none' : 'all' } })
          }
        >
          {say(f.matter === 'water' ? 'found.drained' : 'found.off')}
        </Tile>
        <Tile
          icon="camera"
          disabled={photos.length >= 3 || status.photosPaused}
          onClick={() => file.current?.click()}
          sub={status.photosPaused ? say('found.photosPaused') : undefined}
        >
          {say('found.photo')}
        </Tile>
      </Tiles>
      <input
        ref={file}
        type="file"
        accept="image/*"
        capture="environment"
        hidden
        aria-label={say('found.photo')}
        onChange={(e) => take(e.target.files?.[0])}
      />
      {f.matter in groups && !naming ? (
        <Link icon="list" onClick={() => setNaming(true)}>
          {say(organism ? 'found.nameOther' : 'found.nameIt')}
        </Link>
      ) : null}
      <Link icon="undo" onClick={() => act(boat.id, { do: 'unfound', finding: index })}>
        {say('found.takeOut')}
      </Link>
      {naming ? (
        <Which
          organisms={named(library?.organisms ?? [], f.matter as Matter)}
          onPick={async (organism) => {
            await act(boat.id, {
              do: 'mend',
              finding: index,
              change: { organism, ...(organism ? { confidence: 'likely' } : {}) },
            });
            setNaming(false);
          }}
        />
      ) : null}
    </section>
  );
}

function Shot({ sha256 }: { sha256: string }) {
  const say = useSay();
  const [url, setUrl] = useState<string>();
  useEffect(() => {
    let made: string | undefined;
    let gone = false;
    local.photos.url(sha256).then(
      (u) => {
        made = u;
        if (u && gone) URL.revokeObjectURL(u);
        else setUrl(u);
      },
      () => undefined,
    );
    return () => {
      gone = true;
      if (made) URL.revokeObjectURL(made);
    };
  }, [sha256]);
  return url ? <img className="shot" src={url} alt={say('found.photoAlt')} /> : null;
}
