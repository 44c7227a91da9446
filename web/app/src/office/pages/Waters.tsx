import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import { useKind, useMe, useOrganisms } from '../data.ts';
import { waterFields } from '../kinds.ts';
import { RecordForm } from '../parts/RecordForm.tsx';
import { Shore, ShorePatterns, statusWord } from '../parts/Shore.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { Wide } from '../parts/Wide.tsx';
import { outlineOf, standing, worst } from '../waters.ts';
import { say } from '../words.ts';

/** The register of waters: shape, what lives in each as far as it is known, and how one launches there. */
export default function Waters() {
  const read = useKind('water');
  const launches = useKind('launch');
  const organisms = useOrganisms();
  const me = useMe();
  const [adding, setAdding] = useState(false);
  const [, go] = useLocation();
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const waters = [...read.data].sort((a, b) => a.name.localeCompare(b.name));
  return (
    <>
      <ShorePatterns />
      <h1>{say('nav.waters')}</h1>
      <p className="lead">{say('waters.lead')}</p>
      <ul className="key">
        {['infested', 'positive', 'suspect', 'not_looked', 'not_found'].map((s) => (
          <li key={s}>
            <Shore outline={undefined} status={s} size={28} /> {statusWord(s)}
          </li>
        ))}
      </ul>
      {me.data?.role !== 'manager' ? null : adding ? (
        <RecordForm
          kind="water"
          fields={waterFields()}
          start={{ centre: [0, 0] }}
          done={(saved) => (saved ? go(`/waters/${saved.subject}`) : setAdding(false))}
        />
      ) : (
        <p>
          <button type="button" onClick={() => setAdding(true)}>
            {say('waters.add')}
          </button>
        </p>
      )}
      <Wide label={say('nav.waters')}>
        <table>
          <thead>
            <tr>
              <th scope="col" aria-label={say('waters.shape')} />
              <th scope="col">{say('field.name')}</th>
              <th scope="col">{say('waters.status')}</th>
              <th scope="col" className="n">
                {say('field.area')} (ha)
              </th>
              <th scope="col" className="n">
                {say('waters.launches')}
              </th>
            </tr>
          </thead>
          <tbody>
            {waters.map((w) => {
              const { body } = w;
              return (
                <tr key={w.id}>
                  <td>
                    <Shore outline={outlineOf(body)} status={worst(body)} />
                  </td>
                  <th scope="row">
                    <Link href={`/waters/${w.id}`}>{w.name}</Link>
                    {body.outside ? <span className="when">{say('field.outside')}</span> : null}
                  </th>
                  <td>
                    {standing(body).map((s) => (
                      <div key={s.organism}>
                        {organisms.name(s.organism)}: <b>{statusWord(s.status ?? '')}</b>
                      </div>
                    ))}
                    <div className="when">
                      {say('waters.others')}: {statusWord(body.others ?? '')}
                    </div>
                  </td>
                  <td className="n">{body.areaHa ? Math.round(body.areaHa).toLocaleString('en') : ''}</td>
                  <td className="n">{launches.data?.filter((l) => l.body.water === w.id).length || ''}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </Wide>
    </>
  );
}
