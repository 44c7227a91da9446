import { say } from '../words.ts';
import { Wide } from './Wide.tsx';

const short = (value: unknown) =>
  value === undefined ? '–' : typeof value === 'string' ? value : JSON.stringify(value);

/** Two editions side by side, only where they differ. */
export function Differences(props: {
  of: { path: string; before: unknown; after: unknown }[];
  before?: string;
  after?: string;
}) {
  if (props.of.length === 0) return <p>{say('rules.differences', { n: 0 })}</p>;
  return (
    <Wide label={say('rules.compare')}>
      <table className="beside">
        <caption>{say('rules.differences', { n: props.of.length })}</caption>
        <thead>
          <tr>
            <th scope="col">{say('boat.where')}</th>
            <th scope="col">{props.before ?? say('rules.form.before')}</th>
            <th scope="col">{props.after ?? say('rules.form.after')}</th>
          </tr>
        </thead>
        <tbody>
          {props.of.map((d) => (
            <tr key={d.path}>
              <th scope="row">
                <code>{d.path}</code>
              </th>
              <td>{short(d.before)}</td>
              <td>{short(d.after)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
