import { type FormEvent, useState } from 'react';
import { Said } from '../../parts/Correct.tsx';
import { JobLine } from '../../parts/JobLine.tsx';
import { Table } from '../../parts/Table.tsx';
import { useJob } from '../../parts/useJob.ts';
import { say } from '../../words.ts';
import type { Interval } from './traffic.ts';

/** What the computation answers, as far as it is shown. */
interface Report {
  replicates: number;
  failed: number;
  seed: number;
  coefficients: { name: string; estimate: number; se: number; bootstrapSe: number; bootstrap: Interval }[];
}

/** Repeats the fit on counts drawn from it, on the server, and sets both errors side by side. */
export function Bootstrap() {
  const { job, running, start, cancel, problem } = useJob('traffic_bootstrap');
  const [replicates, setReplicates] = useState('200');
  const begin = (event: FormEvent) => {
    event.preventDefault();
    void start({ replicates: Number(replicates), seed: 1 });
  };
  return (
    <section aria-labelledby="bootstrap">
      <h2 id="bootstrap">{say('model.bootstrap')}</h2>
      <p className="inline-facts">{say('model.bootstrapLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <form className="filters" onSubmit={begin}>
        <label>
          {say('model.replicates')}
          <input
            type="number"
            min={20}
            max={5000}
            required
            value={replicates}
            onChange={(event) => setReplicates(event.target.value)}
          />
        </label>
        <button type="submit" disabled={running}>
          {say('model.bootstrapAct')}
        </button>
      </form>
      <JobLine job={job} cancel={() => void cancel()} />
      {job?.state === 'done' ? <Compared of={job.result as Report} /> : null}
    </section>
  );
}

function Compared({ of }: { of: Report }) {
  return (
    <div role="status">
      <p>{say('model.bootstrapDone', { n: of.replicates, failed: of.failed, seed: of.seed })}</p>
      <Table
        label={say('model.bootstrap')}
        rows={of.coefficients}
        id={(c) => c.name}
        parts={[
          { head: say('model.coefficient'), cell: (c) => c.name },
          { head: say('model.estimate'), n: true, cell: (c) => c.estimate.toFixed(3) },
          { head: say('model.se'), n: true, cell: (c) => c.se.toFixed(3) },
          { head: say('model.bootstrapSE'), n: true, cell: (c) => c.bootstrapSe.toFixed(3) },
          {
            head: say('model.bootstrapSpan'),
            cell: (c) => say('traffic.span', { lo: c.bootstrap.lo.toFixed(3), hi: c.bootstrap.hi.toFixed(3) }),
          },
        ]}
      />
    </div>
  );
}
