import type { Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useNames } from '../data.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';

/** Every version of a record, oldest first, with who made it, when and why. */
export function History({ entries }: { entries: Schemas['Kept'][] }) {
  const person = useNames('person');
  return (
    <>
      <h2>{say('boat.history')}</h2>
      <p>{say('boat.historyLead')}</p>
      <ol className="history">
        {entries.map((e, i) => (
          <li key={e.id}>
            <b>{say('boat.version', { n: i + 1 })}</b> {moment(e.madeAt)}, {person(e.person) || plain(e.origin)}:{' '}
            {e.removed ? `${say('boat.removedRecord')}. ` : ''}
            {e.why ?? say('boat.first')}
            <details>
              <summary>{say('boat.body')}</summary>
              <pre>{JSON.stringify(e.body, null, 1)}</pre>
            </details>
          </li>
        ))}
      </ol>
    </>
  );
}
