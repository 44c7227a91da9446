import { useOrganisms } from '../data.ts';
import { type Inspection, plain } from '../records.ts';
import { say } from '../words.ts';
import { Wide } from './Wide.tsx';

/** What was found on a craft: where, what, how much, whether it lives, whether it was taken off. */
export function Found({ inspection }: { inspection: Inspection }) {
  const organisms = useOrganisms();
  const findings = inspection.findings ?? [];
  if (findings.length === 0) return <p>{say(inspection.refused ? 'boat.foundRefused' : 'boat.foundNone')}</p>;
  return (
    <Wide label={say('boat.found')}>
      <table>
        <thead>
          <tr>
            <th scope="col">{say('boat.where')}</th>
            <th scope="col">{say('boat.what')}</th>
            <th scope="col">{say('boat.howMuch')}</th>
            <th scope="col">{say('boat.alive')}</th>
            <th scope="col">{say('boat.removed')}</th>
          </tr>
        </thead>
        <tbody>
          {findings.map((f) => (
            <tr key={JSON.stringify(f)}>
              <th scope="row">{plain(f.place)}</th>
              <td>
                {plain(f.matter) || say('boat.unknown')}
                {f.organism ? `, ${organisms.name(f.organism)}` : ''}
              </td>
              <td>{f.volumeL ? `${f.volumeL} L` : (f.amount ?? say('boat.unknown'))}</td>
              <td>{f.vitality ?? say('boat.unknown')}</td>
              <td>{f.removed ?? say('boat.unknown')}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
