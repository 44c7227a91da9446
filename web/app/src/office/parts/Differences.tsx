import { useUnits } from '../data.ts';
import { editionDifferences, type Shown } from '../editions.ts';
import { say } from '../words.ts';
import type { Body } from './Input.tsx';
import { Wide } from './Wide.tsx';

/** Two editions side by side, only where they differ, in the words of the form. */
export function Differences(props: { before: Body; after: Body; names?: { before: string; after: string } }) {
  const differ = editionDifferences(props.before, props.after, useUnits());
  if (differ.length === 0) return <p>{say('rules.differences', { n: 0 })}</p>;
  return (
    <Wide label={say('rules.compare')}>
      <table className="beside editions">
        <caption>{say('rules.differences', { n: differ.length })}</caption>
        <thead>
          <tr>
            <th scope="col">{say('boat.where')}</th>
            <th scope="col">{props.names?.before ?? say('rules.form.before')}</th>
            <th scope="col">{props.names?.after ?? say('rules.form.after')}</th>
          </tr>
        </thead>
        <tbody>
          {differ.map((d) => (
            <tr key={`${d.path} ${d.label}`}>
              <th scope="row">
                {d.part ? <span className="when">{d.part}</span> : null}
                {d.label}
                {d.known ? null : (
                  <small>
                    {' '}
                    <code>{d.path}</code>
                  </small>
                )}
              </th>
              <td>
                <Side of={d.before} />
              </td>
              <td>
                <Side of={d.after} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

function Side({ of }: { of: Shown }) {
  if (typeof of === 'string') return of;
  if (of.length === 1) return of[0];
  return (
    <ul>
      {of.map((line, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: lines have no name but their place
        <li key={i}>{line}</li>
      ))}
    </ul>
  );
}
