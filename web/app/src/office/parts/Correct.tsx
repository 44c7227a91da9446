import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useId, useState } from 'react';
import { api, Problem, type Schemas } from '../../shared/api.ts';
import { say } from '../words.ts';

/**
 * Corrects a record as a whole: what it should read, and why. Nothing typed is lost when the server refuses; the answer
 * names the fields at fault.
 */
export function Correct({ subject, done }: { subject: Schemas['Subject']; done: () => void }) {
  const cache = useQueryClient();
  const [text, setText] = useState(() => JSON.stringify(subject.body, null, 2));
  const [why, setWhy] = useState('');
  const [problem, setProblem] = useState<Problem | string>();
  const whyID = useId();
  const bodyID = useId();
  const keep = async (event: FormEvent) => {
    event.preventDefault();
    let body: unknown;
    try {
      body = JSON.parse(text);
    } catch (e) {
      setProblem(say('boat.notJSON', { error: (e as Error).message }));
      return;
    }
    const { error, response } = await api.POST('/api/subjects/{id}/corrections', {
      params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
      body: { why, body: body as never },
    });
    if (error) {
      setProblem(response.status === 412 ? say('boat.overtaken') : new Problem(response.status, error));
      return;
    }
    await cache.invalidateQueries();
    done();
  };
  return (
    <form className="correct" onSubmit={keep}>
      <h2>{say('boat.correct')}</h2>
      <p>{say('boat.correctLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <label htmlFor={bodyID}>{say('boat.body')}</label>
      <textarea
        id={bodyID}
        rows={16}
        value={text}
        onChange={(event) => setText(event.target.value)}
        spellCheck={false}
      />
      <label htmlFor={whyID}>{say('boat.why')}</label>
      <input id={whyID} value={why} onChange={(event) => setWhy(event.target.value)} required maxLength={500} />
      <p>
        <button type="submit" className="main">
          {say('boat.save')}
        </button>{' '}
        <button type="button" onClick={done}>
          {say('boat.cancel')}
        </button>
      </p>
    </form>
  );
}

/** What the server found wrong, field by field. */
export function Said({ problem }: { problem: Problem | string }) {
  return (
    <div className="trouble" role="alert">
      <p>{typeof problem === 'string' ? problem : problem.message}</p>
      {typeof problem === 'string' ? null : (
        <ul>
          {problem.fields.map((f) => (
            <li key={f.field}>
              <code>{f.field}</code> {f.value ? `“${f.value}”` : ''}: {f.accepted}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
