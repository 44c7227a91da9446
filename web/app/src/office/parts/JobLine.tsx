import type { Schemas } from '../../shared/api.ts';
import { say, type Word } from '../words.ts';

/** How far a long computation is, in words and as a bar, with a way to stop it. */
export function JobLine({ job, cancel }: { job: Schemas['Job'] | undefined; cancel: () => void }) {
  if (!job || job.state === 'done') return null;
  const runs = job.state === 'queued' || job.state === 'running';
  return (
    <div className="job" role="status">
      <p>
        <b>{say(`job.${job.state}` as Word)}</b> {job.words ?? ''} {job.error ?? ''}
      </p>
      {runs ? (
        <p>
          <progress max={1} value={job.fraction || undefined} aria-label={say('job.running')} />{' '}
          <button type="button" onClick={cancel}>
            {say('job.cancel')}
          </button>
        </p>
      ) : null}
    </div>
  );
}
