import { type ReactNode, useState } from 'react';
import type { Encounter, WashClaim, WashDone, WashRow, WashStepDone } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { amounts } from '../shared/units.ts';
import {
  clockOf,
  dateInput,
  Field,
  KeyCard,
  KeyTwice,
  numberInput,
  type SheetProps,
  textInput,
  timeInput,
} from './keying.tsx';
import { usePrefs } from './prefs.ts';
import { call, isoLocal, type RampState, useAnswer, useRamp } from './state.tsx';
import { protocolIn } from './washing.ts';

/** One line of the card as it was keyed. */
interface Line {
  readonly coldest: string;
  readonly held: string;
  readonly nozzle: boolean;
  readonly not: boolean;
}
const empty: Line = { coldest: '', held: '', nozzle: false, not: false };

const seconds = (text: string) => (/^\d{1,4}$/.test(text.trim()) ? Number(text) : undefined);

/** A wash from its card, line by line as they are printed. What the card leaves blank was not done. */
export function KeyInWash({ number, onKept }: SheetProps) {
  const say = useSay();
  const ramp = useRamp();
  const units = amounts(usePrefs().units, localeOf(useLanguage()));
  const today = isoLocal(new Date()).slice(0, 10);
  const [k, setK] = useState({ boat: '', day: today, from: '', to: '', gauge: '' });
  const [lines, setLines] = useState<ReadonlyMap<number, Line>>(new Map());
  const [twice, setTwice] = useState(false);
  const rows = useAnswer(() => call('washCard', protocolIn(ramp.rule)), [ramp.rule.ref]).value?.rows ?? [];
  const card = useAnswer(() => (k.boat.trim() ? call('sheet', { text: k.boat }) : undefined), [k.boat], true);
  const boat = local.records<Encounter>('inspection').find((r) => r.entry.body.sheet === card.value?.number);
  const line = (i: number) => lines.get(i) ?? empty;
  const change = (i: number, c: Partial<Line>) => setLines(new Map(lines).set(i, { ...line(i), ...c }));
  const whole = (l: Line) =>
    (l.coldest === '' && l.held === '') || (units.readTemp(l.coldest) !== undefined && seconds(l.held) !== undefined);
  const boatSheet = card.value?.form === 'B' ? card.value.number : undefined;
  const ready =
    k.day && k.from && k.to && boatSheet && ramp.kit && rows.length > 0 && rows.every((_, i) => whole(line(i)));
  const name = (r: WashRow) =>
    `${say(`part.${r.part as 'hull'}`)}${r.risk ? `, ${say(`key.risk.${r.risk as 'low'}`)}` : ''}`;

  const keep = async () => {
    if (!boatSheet || !ramp.kit) return;
    const kit = ramp.kit.subject;
    const ok = await ramp.saving(async () => {
      const gauge = units.readTemp(k.gauge);
      const doubt = gauge === undefined ? undefined : units.tempUnit === '°F' ? (Number(k.gauge) * 5) / 9 : gauge;
      const steps: WashStepDone[] = [];
      for (const [i, row] of rows.entries()) {
        const l = line(i);
        const other = rows.some((r, j) => r.part === row.part && j !== i && (line(j).not || line(j).coldest !== ''));
        // Where two lines of one part differ by risk, the one that was left blank is not the one that was followed.
        if (other && !l.not && l.coldest === '') continue;
        steps.push(await stepFrom(ramp, row, l, units.readTemp(l.coldest), doubt, say('key.blankStep')));
      }
      const body: WashDone = {
        // The office's server brings card and boat together where the boat's card is on another phone, or still to be keyed.
        encounter: boat?.entry.subject ?? '',
        boatSheet,
        kit,
        people: [ramp.me],
        startedAt: isoLocal(clockOf(k.day, k.from)),
        endedAt: isoLocal(clockOf(k.day, k.to)),
        steps,
        sheet: number,
      };
      await call('check', { kind: 'wash', body });
      await local.seal('wash', body, { origin: 'paper' });
    });
    if (ok) onKept();
  };
  if (twice) {
    const read = rows.flatMap((r, i) => (line(i).coldest ? [{ r, i }] : []));
    const fields = [
      { name: 'boat', value: k.boat, input: textInput(14) },
      { name: 'day', value: k.day, input: dateInput(today) },
      ...read.flatMap(({ r, i }) => [
        {
          name: `coldest-${i}`,
          value: line(i).coldest,
          input: numberInput,
          label: `${name(r)}: ${say('key.coldest', { unit: units.tempUnit })}`,
        },
        { name: `held-${i}`, value: line(i).held, input: numberInput, label: `${name(r)}: ${say('key.held')}` },
      ]),
    ];
    return <KeyTwice fields={fields} onBack={() => setTwice(false)} onKeep={keep} />;
  }
  return (
    <KeyCard ready={Boolean(ready)} onNext={() => setTwice(true)}>
      {ramp.kit ? null : <p className="wrong">{say('key.noUnit')}</p>}
      <Field n={1} name="serial">
        <output id="key-serial" className="num">
          {number}
        </output>
      </Field>
      <Field n={2} name="boat">
        {textInput(14)('key-boat', k.boat, (v) => setK({ ...k, boat: v }))}
        <p role="status">{boatSheet && !boat ? say('key.noBoat', { given: boatSheet }) : ''}</p>
        {card.value && !boatSheet ? <p className="wrong">{say('key.notBoat', { given: card.value.number })}</p> : null}
        {k.boat.replace(/[\s-]/g, '').length >= 9 && card.error ? (
          <p className="wrong">{say('key.slip', { given: k.boat })}</p>
        ) : null}
      </Field>
      <Field n={3} name="day">
        {dateInput(today)('key-day', k.day, (v) => setK({ ...k, day: v }))}
      </Field>
      <Field n={4} name="from">
        {timeInput('key-from', k.from, (v) => setK({ ...k, from: v }))}
      </Field>
      <Field n={5} name="to">
        {timeInput('key-to', k.to, (v) => setK({ ...k, to: v }))}
      </Field>
      <Field n={6} name="gauge">
        {numberInput('key-gauge', k.gauge, (v) => setK({ ...k, gauge: v }))}
      </Field>
      <Steps n={7} name="steps">
        {rows.map((r, i) => (
          <fieldset key={`${r.part}-${r.risk ?? ''}`} className="box">
            <legend>
              <span className="num">{i + 1}</span> {name(r)} · {units.temp(r.tempC)}
            </legend>
            <div className="field">
              <label htmlFor={`coldest-${i}`}>{say('key.coldest', { unit: units.tempUnit })}</label>
              {numberInput(`coldest-${i}`, line(i).coldest, (coldest) => change(i, { coldest }))}
            </div>
            <div className="field">
              <label htmlFor={`held-${i}`}>{say('key.held')}</label>
              {numberInput(`held-${i}`, line(i).held, (held) => change(i, { held }))}
            </div>
            <Tiles>
              <Tile pressed={line(i).nozzle} onClick={() => change(i, { nozzle: !line(i).nozzle })}>
                {say('key.nozzle')}
              </Tile>
              <Tile pressed={line(i).not} onClick={() => change(i, { not: !line(i).not })}>
                {say('key.not')}
              </Tile>
            </Tiles>
          </fieldset>
        ))}
      </Steps>
    </KeyCard>
  );
}

function Steps({ n, name, children }: { n: number; name: 'steps'; children: ReactNode }) {
  const say = useSay();
  return (
    <section aria-label={say(`key.${name}`)}>
      <h2>
        <span className="num">{n}</span> {say(`key.${name}`)}
      </h2>
      {children}
    </section>
  );
}

/** A line as the record has it. The coldest reading is taken to have stood for the whole time; the engine says whether that is enough. */
async function stepFrom(
  ramp: RampState,
  row: WashRow,
  l: Line,
  coldestC: number | undefined,
  plusMinusC: number | undefined,
  blank: string,
): Promise<WashStepDone> {
  const claim: WashClaim = {
    part: row.part,
    risk: row.risk || 'high',
    method: row.method,
    measured: l.nozzle ? 'nozzle' : row.measured,
    ...(plusMinusC !== undefined ? { plusMinusC } : {}),
  };
  if (l.not) return { claim, outcome: 'not_needed' };
  const held = seconds(l.held);
  if (coldestC === undefined || held === undefined) return { claim, outcome: 'short', why: blank };
  const probes = [
    [
      { atS: 0, tempC: coldestC },
      { atS: held, tempC: coldestC },
    ],
  ];
  const proof = await call('proof', { ...protocolIn(ramp.rule), claim, probes });
  const met = proof.protocol === 'met';
  return { claim, probes, proof, outcome: met ? 'met' : 'short', ...(met ? {} : { why: blank }) };
}
