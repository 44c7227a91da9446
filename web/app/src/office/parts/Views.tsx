import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { useLocation, useSearch } from 'wouter';
import { api, Problem, type Schemas } from '../../shared/api.ts';
import { type Named, useKind, useMe } from '../data.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';
import { Reading } from './State.tsx';

/** Lists of one page as somebody wants to see them again: opened by name, kept, shared, forgotten. */
export function Views({ page }: { page: string }) {
  const kept = useKind('view');
  const me = useMe();
  const now = useSearch();
  const [path, go] = useLocation();
  const [note, setNote] = useState('');
  const views = (kept.data ?? [])
    .map((row) => ({ row, view: row.body }))
    .filter((v) => v.view.page === page)
    .sort((a, b) => a.view.name.localeCompare(b.view.name));
  const copy = async () => {
    await navigator.clipboard.writeText(location.href);
    setNote(say('ledger.copied'));
  };
  const manager = me.data?.role === 'manager';
  if (kept.isPending) return <Reading />;
  return (
    <section className="views" aria-label={say('ledger.views')}>
      <b>{say('ledger.views')}</b>
      {views.length === 0 ? <span className="when">{say('ledger.viewsNone')}</span> : null}
      <ul>
        {views.map(({ row, view }) => (
          <li key={row.id}>
            <button type="button" aria-pressed={view.filter === now} onClick={() => go(`${path}?${view.filter}`)}>
              {view.name}
            </button>
            {manager ? <Forget row={row} name={view.name} /> : null}
          </li>
        ))}
      </ul>
      {now ? (
        <>
          {manager ? <Keep page={page} filter={now} /> : null}
          <button type="button" onClick={() => void copy()}>
            {say('ledger.copy')}
          </button>
        </>
      ) : null}
      <span role="status">{note}</span>
    </section>
  );
}

function Keep({ page, filter }: { page: string; filter: string }) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const keep = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = event.currentTarget;
    const name = String(new FormData(form).get('name')).trim();
    const { error, response } = await api.POST('/api/subjects', {
      body: { kind: 'view', body: { page, name, filter } as never },
    });
    setProblem(error ? new Problem(response.status, error) : undefined);
    if (error) return;
    form.reset();
    await cache.invalidateQueries({ queryKey: ['kind', 'view'] });
  };
  return (
    <form className="inline" onSubmit={keep}>
      {problem ? <Said problem={problem} /> : null}
      <label>
        {say('ledger.viewName')}
        <input name="name" required maxLength={100} />
      </label>
      <button type="submit">{say('ledger.keep')}</button>
    </form>
  );
}

function Forget({ row, name }: { row: Named; name: string }) {
  const cache = useQueryClient();
  const forget = async () => {
    const subject: Schemas['Subject'] = row.row;
    await api.POST('/api/subjects/{id}/corrections', {
      params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
      body: { why: say('ledger.forgetWhy'), removed: true },
    });
    await cache.invalidateQueries({ queryKey: ['kind', 'view'] });
  };
  return (
    <button type="button" className="small" aria-label={say('ledger.forget', { name })} onClick={() => void forget()}>
      <span aria-hidden="true">×</span>
    </button>
  );
}
