import type { Of, Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useNames } from '../data.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';

/** Every version of a record, oldest first, with who made it, when and why, and which looks at it were taken back. */
export function History(props: { entries: Schemas['Kept'][]; reopenings?: Of<'Subject', 'reopening'>[] }) {
  const person = useNames('person');
  return (
    <>
      <h2>{say('boat.history')}</h2>
      <p>{say('boat.historyLead')}</p>
      <ol className="history">
        {props.entries.map((e, i) => (
          <li key={e.id}>
            <b>{say('boat.version', { n: i + 1 })}</b> {moment(e.madeAt)}, {person(e.person) || plain(e.origin)}:{' '}
            {e.removed ? `${say('boat.removedRecord')}. ` : ''}
            {e.why ?? say('boat.first')}
            {props.reopenings
              ?.filter((r) => r.body?.entry === e.id)
              .map((r) => (
                <p key={r.subject}>
                  {say('reopen.was', {
                    at: moment(r.madeAt),
                    who: person(r.person) || plain(r.origin),
                    why: r.body?.why ?? '',
                  })}
                </p>
              ))}
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
