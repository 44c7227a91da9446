import { Link } from 'wouter';
import type { Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useNames } from '../data.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';
import { Outcome } from './Outcome.tsx';
import { Wide } from './Wide.tsx';

/** What a change would do, in numbers and craft by craft. */
export function Effect({ of }: { of: Schemas['Differences'] }) {
  const launch = useNames('launch');
  return (
    <div className="effect" role="status">
      <p>
        <strong>
          {say('effect.sum', {
            lookBack: of.lookBack,
            changed: of.changed,
            judged: of.judged,
            shifts: of.shifts,
            planned: of.planned,
          })}
        </strong>{' '}
        {of.unresolved ? say('effect.unresolved', { n: of.unresolved }) : ''}
      </p>
      <ul className="moves">
        {of.moves?.map((m) => (
          <li key={m.was + m.wouldBe}>
            <b>{m.n}</b> <Outcome of={m.was} /> → <Outcome of={m.wouldBe} />
          </li>
        ))}
      </ul>
      {of.boats?.length ? (
        <details>
          <summary>{say('effect.boats', { n: of.boats.length })}</summary>
          <Wide label={say('waters.launches')}>
            <table>
              <tbody>
                {of.boats.slice(0, 300).map((b) => (
                  <tr key={b.subject}>
                    <th scope="row">
                      <Link href={`/ledger/${b.subject}`}>{moment(b.at, 'short')}</Link>
                    </th>
                    <td>{launch(b.launch)}</td>
                    <td>{plain(b.class)}</td>
                    <td>
                      <Outcome of={b.was} /> → <Outcome of={b.wouldBe} />
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Wide>
        </details>
      ) : null}
      <p className="when">{of.note}</p>
    </div>
  );
}
