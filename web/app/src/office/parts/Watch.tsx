import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { useKind, useOrganisms, useProgramme } from '../data.ts';
import { few, money, percent } from '../plans.ts';
import { organismsOf } from '../waters.ts';
import { say } from '../words.ts';
import { byName, Pick } from './Pick.tsx';
import { Reading, Trouble } from './State.tsx';
import { Wide } from './Wide.tsx';

/** Which waters to watch whole against one organism, budget by budget. Asked for only when an organism is chosen. */
export function Watch() {
  const waters = useKind('water');
  const { name } = useOrganisms();
  const [organism, setOrganism] = useState('');
  const organisms = organismsOf(waters.data ?? []);
  const read = useQuery({
    queryKey: ['watch', organism],
    enabled: organism !== '',
    queryFn: () => answer(api.GET('/api/watch', { params: { query: { organism, points: 9 } } })),
  });
  if (organisms.length === 0) return null;
  return (
    <section aria-labelledby="watch">
      <h2 id="watch">{say('watch.title')}</h2>
      <p>{say('watch.lead')}</p>
      <form
        className="filters"
        onSubmit={(event) => {
          event.preventDefault();
          setOrganism(String(new FormData(event.currentTarget).get('organism')));
        }}
      >
        <Pick
          word={say('spread.organism')}
          name="organism"
          options={byName(organisms.map((id) => ({ id, name: name(id) })))}
        />
        <button type="submit">{say('watch.show')}</button>
      </form>
      {read.isLoading ? <Reading /> : null}
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {read.data ? <Budgets report={read.data} /> : null}
    </section>
  );
}

const named = 4;

function Budgets({ report }: { report: Schemas['WatchReport'] }) {
  const currency = useProgramme().data?.costs?.currency;
  return (
    <>
      <Wide label={say('watch.title')}>
        <table>
          <thead>
            <tr>
              {(['money', 'met', 'of', 'limit'] as const).map((w) => (
                <th scope="col" className="n" key={w}>
                  {say(`watch.${w}`)}
                </th>
              ))}
              <th scope="col">{say('watch.waters')}</th>
            </tr>
          </thead>
          <tbody>
            {(report.points ?? []).map((p) => (
              <tr key={p.money}>
                <th scope="row" className="n">
                  {money(p.money, currency)}
                </th>
                <td className="n">{few(p.stopped)}</td>
                <td className="n">{report.all > 0 ? percent(p.stopped / report.all) : '–'}</td>
                <td className="n">{few(p.bound)}</td>
                <td>{listed((p.waters ?? []).map((w) => w.name))}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <details>
        <summary>{say('watch.mind')}</summary>
        <ul>
          {[...(report.warnings ?? []), ...(report.assumed ?? [])].map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      </details>
    </>
  );
}

function listed(names: string[]): string {
  if (names.length === 0) return '–';
  const first = names.slice(0, named).join(', ');
  return names.length > named ? `${first} ${say('watch.more', { n: names.length - named })}` : first;
}
