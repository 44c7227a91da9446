import { useId, useState } from 'react';
import { useLocation } from 'wouter';
import { api, Problem, type Schemas } from '../../shared/api.ts';
import { protocolRows, protocolSections } from '../protocols.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';
import { Differences } from './Differences.tsx';
import { Effect } from './Effect.tsx';
import { type Body, dotted } from './Input.tsx';
import { JobLine } from './JobLine.tsx';
import { JobRefused } from './JobRefused.tsx';
import { Fields } from './Rows.tsx';
import { useJob } from './useJob.ts';

type Protocol = Schemas['Protocol'];

/**
 * Writes an edition of the rules, begun from another. What differs so far is shown while one writes, and the season can be
 * judged again under the draft before anything is kept. Earlier editions stay, and so does every verdict given under them.
 */
export function ProtocolForm({ from, done }: { from: Protocol; done: () => void }) {
  const [body, setBody] = useState<Body>(() => {
    // What the server adds for readers of its answers is no part of the record.
    const { $schema: _, ...said } = from as Body;
    return { ...said, version: `${from.version}-next`, confirmed: false };
  });
  const [taken, setTaken] = useState(0);
  const [problem, setProblem] = useState<Problem | string>();
  const [, go] = useLocation();
  const id = useId();
  const faults = problem instanceof Problem ? problem.fields : [];
  const wrong = (path: string) => faults.find((f) => dotted(f.field) === path);
  const keep = async () => {
    const { error, response } = await api.POST('/api/subjects', {
      body: { kind: 'protocol', body: body as never },
    });
    if (error) setProblem(new Problem(response.status, error));
    else go(`/rules/${encodeURIComponent(`${body.id}@${body.version}`)}`);
  };
  return (
    <section className="correct protocol">
      <h2>{say('rules.new')}</h2>
      <p>{say('rules.newLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      {protocolSections().map((part) => (
        <fieldset key={`${part.legend} ${taken}`} className="rows">
          <legend>{part.legend}</legend>
          <Fields fields={part.fields} {...{ body, wrong, id }} set={setBody} />
        </fieldset>
      ))}
      <Fields key={taken} fields={protocolRows()} {...{ body, wrong, id }} set={setBody} />
      <Expert
        body={body}
        take={(next) => {
          setBody(next);
          setTaken(taken + 1); // boxes of numbers read their value once
        }}
      />
      <h3>{say('rules.form.changed', { ref: `${from.id}@${from.version}` })}</h3>
      <Differences before={from as Body} after={body} />
      <DraftBench draft={body} />
      <p>
        <button type="button" className="main" onClick={() => void keep()}>
          {say('rules.keep')}
        </button>{' '}
        <button type="button" onClick={done}>
          {say('boat.cancel')}
        </button>
      </p>
    </section>
  );
}

function Expert({ body, take }: { body: Body; take: (body: Body) => void }) {
  const [text, setText] = useState<string>();
  const [problem, setProblem] = useState('');
  const id = useId();
  const read = () => {
    try {
      take(JSON.parse(text ?? '') as Body);
      setText(undefined);
      setProblem('');
    } catch (e) {
      setProblem(say('boat.notJSON', { error: (e as Error).message }));
    }
  };
  return (
    <details>
      <summary>{say('rules.form.expert')}</summary>
      {problem ? <Said problem={problem} /> : null}
      <label htmlFor={id}>{say('rules.form.expert')}</label>
      <textarea
        id={id}
        rows={24}
        value={text ?? JSON.stringify(body, null, 2)}
        onChange={(event) => setText(event.target.value)}
        spellCheck={false}
      />
      <p>
        <button type="button" disabled={text === undefined} onClick={read}>
          {say('rules.form.useJSON')}
        </button>
      </p>
    </details>
  );
}

/** Judges the season again under what has been written so far. */
function DraftBench({ draft }: { draft: Body }) {
  const { job, running, start, cancel, problem } = useJob('rejudge');
  const mine = (job?.input as { protocol?: Body } | undefined)?.protocol;
  const same = mine && mine.id === draft.id && mine.version === draft.version;
  return (
    <section>
      <h3>{say('rules.bench')}</h3>
      <p>{say('rules.benchLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <p>
        <button type="button" disabled={running} onClick={() => void start({ protocol: draft })}>
          {say('rules.form.bench')}
        </button>
      </p>
      {same ? (
        <>
          <JobLine job={job} cancel={() => void cancel()} />
          <JobRefused job={job} />
          {job?.state === 'done' ? <Effect of={job.result as Schemas['Differences']} /> : null}
        </>
      ) : null}
    </section>
  );
}
