import type { Schemas } from '../../shared/api.ts';
import { say } from '../words.ts';

/** What a computation could not take, field by field. */
export function JobRefused({ job }: { job: Schemas['Job'] | undefined }) {
  if (!job?.errors?.length) return null;
  return (
    <ul className="trouble">
      {job.errors.map((e) => (
        <li key={e.field}>
          <code>{e.field}</code> {e.value ? `“${e.value}”. ` : ''}
          {say('form.accepted', { what: e.accepted })}
        </li>
      ))}
    </ul>
  );
}
