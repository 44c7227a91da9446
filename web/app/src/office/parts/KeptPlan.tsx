import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { type Named, useMe, useNames } from '../data.ts';
import { planOf } from '../plans.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';
import { History } from './History.tsx';
import { PlanResult } from './PlanResult.tsx';
import { Trouble } from './State.tsx';

/** A plan that was kept, as it was computed then; a manager gives it another name, or takes it out. */
export function KeptPlan({ kept, gone }: { kept: Named<'plan'>; gone: () => void }) {
  const me = useMe();
  const person = useNames('person');
  const history = useQuery({
    queryKey: ['kind', 'plan', 'history', kept.id, kept.row.id],
    queryFn: () => answer(api.GET('/api/subjects/{id}/history', { params: { path: { id: kept.id } } })),
  });
  const { plan, whole } = planOf(kept.body);
  const entries = history.data?.items ?? [];
  const first = entries[0]; // a later one only gives it another name
  return (
    <section>
      <h2>{kept.name}</h2>
      <p className="when">
        {first
          ? say('plan.keptBy', {
              season: kept.body.season ?? '',
              at: moment(first.madeAt),
              who: person(first.person) || plain(first.origin),
            })
          : say('state.reading')}{' '}
        <Link href="/plan">{say('plan.toLatest')}</Link>
      </p>
      {history.error ? <Trouble error={history.error} /> : null}
      {whole ? null : <p className="state">{say('plan.keptThin')}</p>}
      <PlanResult plan={plan} kept={kept.id} />
      {me.data?.role === 'manager' ? <Acts kept={kept} gone={gone} key={kept.row.id} /> : null}
      {entries.length > 1 ? <History entries={entries} /> : null}
    </section>
  );
}

type Correction = { why: string; removed?: boolean; body?: unknown };

/** Corrects the record of a plan; its history stays. */
function useCorrection(row: Schemas['Subject']) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem | string>();
  const correct = async ({ body, ...rest }: Correction) => {
    const { error, response } = await api.POST('/api/subjects/{id}/corrections', {
      params: { path: { id: row.subject }, header: { 'If-Match': `"${row.id}"` } },
      body: { ...rest, body: body as never },
    });
    const said = error && (response.status === 412 ? say('boat.overtaken') : new Problem(response.status, error));
    setProblem(said || undefined);
    if (error) return false;
    await cache.invalidateQueries({ queryKey: ['kind', 'plan'] });
    return true;
  };
  return { problem, correct };
}

function Acts({ kept, gone }: { kept: Named<'plan'>; gone: () => void }) {
  const [name, setName] = useState(kept.name);
  const [why, setWhy] = useState('');
  const { problem, correct } = useCorrection(kept.row);
  const rename = async (event: FormEvent) => {
    event.preventDefault();
    await correct({ why: say('plan.renameWhy', { name: kept.name }), body: { ...kept.body, name: name.trim() } });
  };
  const remove = async (event: FormEvent) => {
    event.preventDefault();
    if (await correct({ why: why.trim(), removed: true, body: kept.body })) gone();
  };
  return (
    <>
      {problem ? <Said problem={problem} /> : null}
      <form className="filters" onSubmit={rename}>
        <label>
          {say('plan.name')}
          <input value={name} required maxLength={120} onChange={(event) => setName(event.target.value)} />
        </label>
        <button type="submit" disabled={name.trim() === kept.name}>
          {say('plan.rename')}
        </button>
      </form>
      <form className="filters" onSubmit={remove}>
        <label>
          {say('plan.removeWhy')}
          <input value={why} required maxLength={500} onChange={(event) => setWhy(event.target.value)} />
        </label>
        <button type="submit" disabled={why.trim() === ''}>
          {say('plan.remove')}
        </button>
      </form>
    </>
  );
}

/** Plans that were taken out: by whom, when and why, with a way back. */
export function TakenOut() {
  const read = useQuery({
    queryKey: ['kind', 'plan', 'removed'],
    queryFn: async () => {
      const page = await answer(
        api.GET('/api/subjects', { params: { query: { kind: 'plan', removed: true, limit: 1000 } } }),
      );
      return (page.items ?? []).filter((row) => row.removed);
    },
  });
  if (!read.data?.length) return null;
  return (
    <details>
      <summary>{say('plan.takenOut', { n: read.data.length })}</summary>
      <ul className="acts-list">
        {read.data.map((row) => (
          <Out key={row.id} row={row} />
        ))}
      </ul>
    </details>
  );
}

function Out({ row }: { row: Schemas['Subject'] }) {
  const me = useMe();
  const person = useNames('person');
  const { problem, correct } = useCorrection(row);
  const body = row.body as { name?: string } | undefined;
  return (
    <li>
      {problem ? <Said problem={problem} /> : null}
      {say('plan.outBy', {
        name: body?.name ?? row.subject,
        at: moment(row.madeAt),
        who: person(row.person) || plain(row.origin),
        why: row.why ?? '',
      })}{' '}
      {body && me.data?.role === 'manager' ? (
        <button
          type="button"
          aria-label={say('plan.putBackOf', { name: body.name ?? '' })}
          onClick={() => void correct({ why: say('plan.putBackWhy'), body })}
        >
          {say('plan.putBack')}
        </button>
      ) : null}
    </li>
  );
}
