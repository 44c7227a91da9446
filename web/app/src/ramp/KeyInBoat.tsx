import { useState } from 'react';
import type { Check, Encounter, Finding, Inspection, Mark, Outcome, Photo, RoundStop } from '../engine/types.ts';
import { local } from '../local/index.ts';
import type { PhotoKept } from '../local/types.ts';
import { useSay } from '../messages/index.tsx';
import { Finds } from './Finds.tsx';
import { caseOf, unitOf } from './judge.ts';
import {
  clockOf,
  dateInput,
  Field,
  KeyCard,
  KeyTwice,
  type SheetProps,
  textInput,
  timeInput,
  YesNo,
} from './keying.tsx';
import { markOf } from './marking.ts';
import { SheetPhoto } from './SheetPhoto.tsx';
import { call, isoLocal, type RampState, useAnswer, useRamp } from './state.tsx';

interface Keyed {
  readonly day: string;
  readonly from: string;
  readonly to: string;
  readonly craft: string;
  readonly water: string;
  readonly out: string;
  readonly stay: '' | 'day_use' | 'moored';
  readonly plugs: '' | 'yes' | 'no';
  readonly drive: '' | 'yes' | 'no';
  readonly rest: '' | 'yes' | 'no';
  readonly unchecked: string;
  readonly outcome: string;
  readonly mark: string;
}
const blank: Omit<Keyed, 'day'> = {
  from: '',
  to: '',
  craft: '',
  water: '',
  out: '',
  stay: '',
  plugs: '',
  drive: '',
  rest: '',
  unchecked: '',
  outcome: '',
  mark: '',
};

/** The stops of numbers as they stand on the sheet, apart by blanks or commas; undefined where one is no stop. */
function stopsOf(text: string, stops: readonly RoundStop[]): RoundStop[] | undefined {
  const found = text
    .split(/[\s,;]+/)
    .filter(Boolean)
    .map((t) => stops.find((s) => String(s.number) === t));
  return found.every((s) => s !== undefined) ? found : undefined;
}

/** A boat from its sheet, in the order of the sheet. Blank on the sheet stays unknown here. */
export function KeyInBoat({ number, onKept }: SheetProps) {
  const say = useSay();
  const ramp = useRamp();
  const today = isoLocal(new Date()).slice(0, 10);
  const [k, setK] = useState<Keyed>({ ...blank, day: today });
  const [found, setFound] = useState<readonly Finding[]>([]);
  const [photo, setPhoto] = useState<PhotoKept>();
  const [twice, setTwice] = useState(false);
  const set = <F extends keyof Keyed>(field: F, value: Keyed[F]) => setK({ ...k, [field]: value });
  const usual = ramp.library?.classes.find((c) => c.id === k.craft)?.usual;
  const stops = useAnswer(() => usual && call('round', { setup: usual }), [k.craft]).value?.round.stops ?? [];
  const unchecked = stopsOf(k.unchecked, stops);
  const ready = k.day && k.from && k.to && k.craft && k.outcome && ramp.shift && unchecked;

  const keep = async () => {
    if (!usual || !unchecked) return;
    const inspection = inspectionFrom(ramp, k, usual, unchecked, found, say('key.notChecked'));
    const ok = await ramp.saving(async () => {
      const { mark, noKey } = k.mark.trim() ? await markOf(k.mark) : {};
      if (noKey) throw new Error(say('craft.noKey'));
      const body = await encounterFrom(ramp, inspection, k.outcome as Outcome, number, mark, say);
      const id = inspection.id ?? local.newId();
      const picture: Photo[] = photo
        ? [{ encounter: id, sha256: photo.sha256, bytes: photo.bytes, type: photo.type }]
        : [];
      await local.sealAll([
        { kind: 'inspection', body, options: { id, origin: 'paper' } },
        ...picture.map((p) => ({ kind: 'photo', body: p, options: { origin: 'paper' as const } })),
      ]);
    });
    if (ok) onKept();
  };

  const waters = [...ramp.books.waters].sort((a, b) => a.body.name.localeCompare(b.body.name));
  const waterPick = (id: string, value: string, onChange: (v: string) => void) => (
    <select id={id} value={value} onChange={(e) => onChange(e.target.value)}>
      <option value="">{say('ask.notSure')}</option>
      {waters.map((w) => (
        <option key={w.subject} value={w.subject}>
          {w.body.name}
        </option>
      ))}
    </select>
  );
  const outcomePick = (id: string, value: string, onChange: (v: string) => void) => (
    <select id={id} value={value} onChange={(e) => onChange(e.target.value)}>
      <option value="">{say('override.choose')}</option>
      {(ramp.library?.outcomes ?? []).map((o) => (
        <option key={o.id} value={o.id}>
          {o.plate}
        </option>
      ))}
    </select>
  );
  if (twice) {
    const fields = [
      { name: 'day', value: k.day, input: dateInput(today) },
      { name: 'water', value: k.water, input: waterPick },
      { name: 'out', value: k.out, input: dateInput(today) },
      { name: 'outcome', value: k.outcome, input: outcomePick },
      ...(k.mark.trim() ? [{ name: 'mark', value: k.mark, input: textInput(14) }] : []),
    ];
    return <KeyTwice fields={fields} onBack={() => setTwice(false)} onKeep={keep} />;
  }
  return (
    <KeyCard ready={Boolean(ready)} onNext={() => setTwice(true)}>
      <Field n={1} name="serial">
        <output id="key-serial" className="num">
          {number}
        </output>
      </Field>
      <SheetPhoto photo={photo} onPhoto={setPhoto} />
      <Field n={2} name="day">
        {dateInput(today)('key-day', k.day, (v) => set('day', v))}
      </Field>
      <Field n={3} name="from">
        {timeInput('key-from', k.from, (v) => set('from', v))}
      </Field>
      <Field n={4} name="to">
        {timeInput('key-to', k.to, (v) => set('to', v))}
      </Field>
      <Field n={5} name="craft">
        <select id="key-craft" value={k.craft} onChange={(e) => set('craft', e.target.value)}>
          <option value="">{say('override.choose')}</option>
          {(ramp.library?.classes ?? []).map((c) => (
            <option key={c.id} value={c.id}>
              {c.name}
            </option>
          ))}
        </select>
      </Field>
      <Field n={6} name="water">
        {waterPick('key-water', k.water, (v) => set('water', v))}
      </Field>
      <Field n={7} name="out">
        {dateInput(today)('key-out', k.out, (v) => set('out', v))}
      </Field>
      <Field n={8} name="stay">
        <select id="key-stay" value={k.stay} onChange={(e) => set('stay', e.target.value as Keyed['stay'])}>
          <option value="">{say('ask.notSure')}</option>
          <option value="day_use">{say('ask.day')}</option>
          <option value="moored">{say('ask.moored')}</option>
        </select>
      </Field>
      <YesNo n={9} name="plugs" value={k.plugs} onChange={(v) => set('plugs', v)} />
      <YesNo n={10} name="drive" value={k.drive} onChange={(v) => set('drive', v)} />
      <YesNo n={11} name="rest" value={k.rest} onChange={(v) => set('rest', v)} />
      <Field n={12} name="unchecked">
        <input
          id="key-unchecked"
          value={k.unchecked}
          inputMode="numeric"
          autoComplete="off"
          aria-describedby="key-unchecked-help"
          onChange={(e) => set('unchecked', e.target.value)}
        />
        <p id="key-unchecked-help" className={unchecked ? '' : 'wrong'}>
          {say(unchecked ? 'key.uncheckedHow' : 'key.noStop', { given: k.unchecked, most: stops.length })}
        </p>
      </Field>
      <Finds n={13} name="found" stops={stops} found={found} onChange={setFound} />
      <Field n={14} name="outcome">
        {outcomePick('key-outcome', k.outcome, (v) => set('outcome', v))}
      </Field>
      <Field n={15} name="mark">
        {textInput(14)('key-mark', k.mark, (v) => set('mark', v))}
        <p>{say('key.markWhy')}</p>
      </Field>
    </KeyCard>
  );
}

/** The inspection that a sheet tells of. */
function inspectionFrom(
  ramp: RampState,
  k: Keyed,
  setup: Inspection['setup'],
  unchecked: readonly RoundStop[],
  found: readonly Finding[],
  notChecked: string,
): Inspection {
  const site = ramp.site();
  const checks: Check[] = unchecked.map((s) => ({ place: s.place, looked: 'no', reason: notChecked }));
  return {
    id: local.newId(),
    launch: site.launch,
    water: site.water,
    direction: 'launching',
    steward: site.person,
    startedAt: isoLocal(clockOf(k.day, k.from)),
    endedAt: isoLocal(clockOf(k.day, k.to)),
    setup,
    ...(k.plugs ? { plugsOut: k.plugs } : {}),
    ...(k.drive ? { driveLowered: k.drive } : {}),
    lastWaters: [
      {
        water: k.water,
        ...(k.water && k.out ? { outAt: isoLocal(clockOf(k.out, '23:59')) } : {}),
        ...(k.water && k.stay ? { stay: k.stay } : {}),
      },
    ],
    ...(k.rest === 'yes' ? { others: { place: '', looked: 'yes', felt: 'yes', opened: 'yes', wet: 'dry' } } : {}),
    ...(checks.length ? { checks } : {}),
    ...(found.length ? { findings: [...found] } : {}),
  };
}

/** The record of a sheet, checked. The craft left with what the sheet says; where the engine says another word, both are kept. */
async function encounterFrom(
  ramp: RampState,
  inspection: Inspection,
  outcome: Outcome,
  sheet: string,
  mark: Mark | undefined,
  say: ReturnType<typeof useSay>,
): Promise<Encounter> {
  const cs = await caseOf(call, ramp.books, inspection, unitOf(ramp.kit?.body), undefined);
  const { verdict } = await call('verdict', cs);
  // A sheet cannot show that two people decided it, so a hold is not keyed in as anything milder.
  if (verdict.outcome === 'hold' && outcome !== 'hold') throw new Error(say('key.hold'));
  const body: Encounter = {
    shift: ramp.shift?.entry ?? '',
    inspection,
    protocol: ramp.rule.ref,
    verdict,
    ...(verdict.outcome === outcome ? {} : { override: { outcome, by: ramp.me, why: say('key.written') } }),
    ...(mark ? { mark } : {}),
    sheet,
  };
  await call('check', { kind: 'inspection', body });
  return body;
}
