import { useState } from 'react';
import type { Tally } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { clockOf, dateInput, Field, KeyCard, KeyTwice, numberInput, type SheetProps, timeInput } from './keying.tsx';
import { call, isoLocal, useRamp } from './state.tsx';

const count = (text: string) => (/^\d{0,4}$/.test(text.trim()) ? Number(text) : Number.NaN);

/** The sums of a tally sheet, in its order. */
export function KeyInTally({ number, onKept }: SheetProps) {
  const say = useSay();
  const ramp = useRamp();
  const today = isoLocal(new Date()).slice(0, 10);
  const [day, setDay] = useState(today);
  const [to, setTo] = useState('');
  const [passedBy, setPassedBy] = useState('');
  const [refused, setRefused] = useState('');
  const [turnedAway, setTurnedAway] = useState('');
  const [twice, setTwice] = useState(false);
  const sums = [passedBy, refused, turnedAway].map(count);
  const ready = day !== '' && to !== '' && sums.every((n) => !Number.isNaN(n)) && sums.some((n) => n > 0);

  const keep = async () => {
    const [p = 0, r = 0, t = 0] = sums;
    const body: Tally = {
      shift: ramp.shift?.entry ?? '',
      at: isoLocal(clockOf(day, to)),
      ...(p ? { passedBy: p } : {}),
      ...(r ? { refused: r } : {}),
      ...(t ? { turnedAway: t } : {}),
      sheet: number,
    };
    const ok = await ramp.saving(async () => {
      await call('check', { kind: 'tally', body });
      await local.seal('tally', body, { origin: 'paper' });
    });
    if (ok) onKept();
  };
  if (twice) {
    const fields = [
      { name: 'day', value: day, input: dateInput(today) },
      { name: 'passedBy', value: passedBy, input: numberInput, label: say('tally.passedBy') },
      { name: 'refused', value: refused, input: numberInput, label: say('tally.refused') },
      { name: 'turnedAway', value: turnedAway, input: numberInput, label: say('tally.turnedAway') },
    ];
    return <KeyTwice fields={fields} onBack={() => setTwice(false)} onKeep={keep} />;
  }
  return (
    <KeyCard ready={ready} onNext={() => setTwice(true)}>
      <Field n={1} name="serial">
        <output id="key-serial" className="num">
          {number}
        </output>
      </Field>
      <Field n={2} name="day">
        {dateInput(today)('key-day', day, setDay)}
      </Field>
      <Field n={3} name="to">
        {timeInput('key-to', to, setTo)}
      </Field>
      <Field n={4} name="passedBy" tally>
        {numberInput('key-passedBy', passedBy, setPassedBy)}
      </Field>
      <Field n={5} name="refused" tally>
        {numberInput('key-refused', refused, setRefused)}
      </Field>
      <Field n={6} name="turnedAway" tally>
        {numberInput('key-turnedAway', turnedAway, setTurnedAway)}
      </Field>
    </KeyCard>
  );
}
