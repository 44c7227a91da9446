import { type FormEvent, useState } from 'react';
import { useKind } from '../data.ts';
import type { Plan, PlanShift } from '../plans.ts';
import { type Ask, mondayOf, plusDays } from '../rosters.ts';
import { say } from '../words.ts';
import { resultOf } from './KeptPlans.tsx';
import { Pick } from './Pick.tsx';
import { useJob } from './useJob.ts';

/** Where the shifts of a roster come from: the plan just made, a plan that was kept, or shifts already in the records. */
function useSources(): { value: string; word: string; shifts: PlanShift[] | undefined }[] {
  const { job } = useJob('plan');
  const kept = useKind('plan');
  const plan = job?.state === 'done' ? (job.result as Plan) : undefined;
  return [
    ...(plan?.made ? [{ value: 'latest', word: say('roster.fromLatest'), shifts: plan.shifts }] : []),
    ...(kept.data ?? []).flatMap((p) => {
      const shifts = resultOf(p).shifts;
      return shifts?.length ? [{ value: p.id, word: say('roster.fromKept', { name: p.name }), shifts }] : [];
    }),
    { value: 'records', word: say('roster.fromRecords'), shifts: undefined },
  ];
}

/** Asks for a roster: days, where the shifts come from, how much one person may work. */
export function RosterForm(props: { last: Ask | undefined; busy: boolean; start: (ask: Ask) => void }) {
  const next = plusDays(mondayOf(new Date().toISOString().slice(0, 10)), 7);
  const [from, setFrom] = useState(props.last?.from ?? next);
  const [to, setTo] = useState(props.last?.to ?? plusDays(next, 27));
  const [maxHours, setMaxHours] = useState(props.last?.maxHours ?? 40);
  const [maxDays, setMaxDays] = useState(props.last?.maxDays ?? 5);
  const [source, setSource] = useState('');
  const sources = useSources();
  const chosen = sources.find((s) => s.value === source) ?? sources[0];
  const send = (event: FormEvent) => {
    event.preventDefault();
    if (props.busy) return;
    props.start({ from, to, maxHours, maxDays, ...(chosen?.shifts && { shifts: chosen.shifts }) });
  };
  return (
    <form className="record-form" onSubmit={send} noValidate>
      <div className="fields">
        <label>
          {say('roster.from')}
          <input type="date" value={from} onChange={(event) => setFrom(event.target.value)} />
        </label>
        <label>
          {say('roster.to')}
          <input type="date" value={to} onChange={(event) => setTo(event.target.value)} />
        </label>
        <Pick
          word={say('roster.source')}
          value={chosen?.value}
          set={setSource}
          options={sources.map((s) => [s.value, s.word])}
        />
        <label>
          {say('roster.maxHours')}
          <input type="number" min={1} value={maxHours} onChange={(event) => setMaxHours(Number(event.target.value))} />
        </label>
        <label>
          {say('roster.maxDays')}
          <input
            type="number"
            min={1}
            max={7}
            value={maxDays}
            onChange={(event) => setMaxDays(Number(event.target.value))}
          />
        </label>
      </div>
      <p>
        <button type="submit" className="main" disabled={props.busy}>
          {say('roster.act')}
        </button>
      </p>
    </form>
  );
}
