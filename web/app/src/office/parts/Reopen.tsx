import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { api, Problem, type Schemas } from '../../shared/api.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';

/** Takes back a look that kept a record as it was, so that the automatic checks may doubt it again. */
export function Reopen({ subject }: { subject: Schemas['Subject'] }) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const reopen = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const why = String(new FormData(event.currentTarget).get('why'));
    const { error, response } = await api.POST('/api/subjects/{id}/reopenings', {
      params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
      body: { why },
    });
    if (error) setProblem(new Problem(response.status, error));
    else await cache.invalidateQueries();
  };
  return (
    <section>
      <h3>{say('reopen.title')}</h3>
      <p>{say('reopen.lead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <form className="inline" onSubmit={reopen}>
        <label>
          {say('boat.why')}
          <input name="why" required maxLength={500} />
        </label>
        <button type="submit">{say('reopen.act')}</button>
      </form>
    </section>
  );
}
