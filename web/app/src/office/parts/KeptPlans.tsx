import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link } from 'wouter';
import { api, Problem } from '../../shared/api.ts';
import { type Named, useKind } from '../data.ts';
import {
  few,
  type KeptResult,
  money,
  onlyIn,
  type Plan,
  type PlanShift,
  percent,
  recordOf,
  type Wishes,
  whole,
} from '../plans.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';
import { How } from './How.tsx';
import { TakenOut } from './KeptPlan.tsx';
import { cellWords } from './PlanForm.tsx';
import { Wide } from './Wide.tsx';

/** Keeps a plan among the records, where rosters and reports find it. */
export function KeepPlan({ asked, plan }: { asked: Wishes; plan: Plan }) {
  const cache = useQueryClient();
  const [name, setName] = useState('');
  const [season, setSeason] = useState(() => String(new Date().getFullYear()));
  const [problem, setProblem] = useState<Problem>();
  const [kept, setKept] = useState(false);
  const keep = async (event: FormEvent) => {
    event.preventDefault();
    const body = recordOf(name.trim(), season.trim(), asked, plan);
    const { error, response } = await api.POST('/api/subjects', { body: { kind: 'plan', body: body as never } });
    setProblem(error ? new Problem(response.status, error) : undefined);
    if (error) return;
    setKept(true);
    await cache.invalidateQueries({ queryKey: ['kind', 'plan'] });
  };
  if (kept) {
    return (
      <p className="effect" role="status">
        {say('plan.keptNow', { name })}
      </p>
    );
  }
  return (
    <form className="filters" onSubmit={keep} noValidate>
      {problem ? <Said problem={problem} /> : null}
      <label>
        {say('plan.name')}
        <input value={name} maxLength={120} onChange={(event) => setName(event.target.value)} />
      </label>
      <label>
        {say('plan.season')}
        <input value={season} maxLength={40} onChange={(event) => setSeason(event.target.value)} />
      </label>
      <button type="submit">{say('plan.keep')}</button>
    </form>
  );
}

export const resultOf = (plan: Named<'plan'> | undefined) => (plan?.body.result ?? {}) as KeptResult;
const number = (v: unknown, write: (v: number) => string) => (typeof v === 'number' ? write(v) : '–');

/** Plans that were kept, side by side, and which shifts two of them do not share. */
export function KeptPlans() {
  const read = useKind('plan');
  const plans = read.data ?? [];
  return (
    <section>
      <h2 id="kept">{say('plan.kept')}</h2>
      {plans.length === 0 ? (
        <p className="state">{read.isPending ? say('state.reading') : say('plan.noneKept')}</p>
      ) : (
        <Wide label={say('plan.kept')}>
          <table>
            <caption>{say('plan.keptLead')}</caption>
            <thead>
              <tr>
                <th scope="col">{say('plan.name')}</th>
                {(['stopped', 'ofAll', 'betterCol', 'costCol', 'hoursCol', 'shiftsCol'] as const).map((w) => (
                  <th scope="col" className="n" key={w}>
                    {say(`plan.${w}`)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {plans.map((p) => (
                <KeptRow key={p.id} plan={p} />
              ))}
            </tbody>
          </table>
        </Wide>
      )}
      {plans.length > 0 ? <How>{say('plan.how.kept')}</How> : null}
      {plans.length > 1 ? <Differences plans={plans} /> : null}
      <TakenOut />
    </section>
  );
}

function KeptRow({ plan }: { plan: Named<'plan'> }) {
  const r = resultOf(plan);
  const value = plan.body.value;
  return (
    <tr>
      <th scope="row">
        <b>
          <Link href={`/plan?kept=${plan.id}`}>{plan.name}</Link>
        </b>{' '}
        <span className="when">
          {String(plan.body.season ?? '')}
          {plan.body.chosen ? `, ${say('plan.chosen')}` : ''}
        </span>
      </th>
      <td className="n">{number(value, few)}</td>
      <td className="n">{typeof value === 'number' && r.all ? percent(value / r.all) : '–'}</td>
      <td className="n">{number(r.better ?? plan.body.gap, percent)}</td>
      <td className="n">{number(r.cost, (v) => money(v, r.currency))}</td>
      <td className="n">{number(r.hours, whole)}</td>
      <td className="n">{r.shifts ? r.shifts.length : '–'}</td>
    </tr>
  );
}

function Differences({ plans }: { plans: Named<'plan'>[] }) {
  const [one, setOne] = useState(plans[0]?.id ?? '');
  const [two, setTwo] = useState(plans[1]?.id ?? '');
  const find = (id: string) => plans.find((p) => p.id === id);
  const a = resultOf(find(one)).shifts;
  const b = resultOf(find(two)).shifts;
  const choices = [
    ['one', one, setOne],
    ['two', two, setTwo],
  ] as const;
  return (
    <>
      <h3>{say('plan.differ')}</h3>
      <div className="filters">
        {choices.map(([key, value, set], i) => (
          <label key={key}>
            {say(i === 0 ? 'plan.first' : 'plan.second')}
            <select value={value} onChange={(event) => set(event.target.value)}>
              {plans.map((p) => (
                <option key={p.id} value={p.id}>
                  {p.name}
                </option>
              ))}
            </select>
          </label>
        ))}
      </div>
      {a && b ? (
        <div className="twins">
          <Only title={say('plan.onlyIn', { name: find(one)?.name ?? '' })} shifts={onlyIn(a, b)} />
          <Only title={say('plan.onlyIn', { name: find(two)?.name ?? '' })} shifts={onlyIn(b, a)} />
        </div>
      ) : (
        <p>{say('plan.noShiftsKept')}</p>
      )}
    </>
  );
}

function Only({ title, shifts }: { title: string; shifts: PlanShift[] }) {
  return (
    <div>
      <h4>{title}</h4>
      {shifts.length === 0 ? (
        <p>{say('plan.noneOnly')}</p>
      ) : (
        <ul>
          {shifts.map((s) => (
            <li key={`${s.launch}${s.day}${s.block}${s.people}`}>
              {s.name}: {cellWords(s)}, {say('plan.crew', { n: s.people })}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
