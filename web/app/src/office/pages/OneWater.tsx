import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link, useParams } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { useKind, useMe, useOrganisms } from '../data.ts';
import { statuses, waterFields } from '../kinds.ts';
import { Said } from '../parts/Correct.tsx';
import { Effect } from '../parts/Effect.tsx';
import { History } from '../parts/History.tsx';
import { byName } from '../parts/Pick.tsx';
import { RecordForm } from '../parts/RecordForm.tsx';
import { Shore, ShorePatterns, statusWord } from '../parts/Shore.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { type DatedStatus, organismsOf, outlineOf, type Water, worst } from '../waters.ts';
import { say } from '../words.ts';

/** One water: its shape and launches, what was known of it when, and what declaring something of it would change. */
export default function OneWater() {
  const { id = '' } = useParams();
  const me = useMe();
  const [editing, setEditing] = useState(false);
  const read = useQuery({
    queryKey: ['subject', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}', { params: { path: { id } } })),
  });
  const history = useQuery({
    queryKey: ['history', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}/history', { params: { path: { id } } })),
  });
  const launches = useKind('launch');
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const body = read.data.body as unknown as Water;
  const manager = me.data?.role === 'manager';
  return (
    <>
      <ShorePatterns />
      <p className="crumb">
        <Link href="/waters">{say('nav.waters')}</Link>
      </p>
      <h1>{body.name}</h1>
      <p className="lead">{body.areaHa ? `${Math.round(body.areaHa).toLocaleString('en')} ha` : ''}</p>
      <div className="pair">
        <section>
          <Shore outline={outlineOf(body)} status={worst(body)} size={260} />
        </section>
        <section>
          <h2>{say('waters.known')}</h2>
          <StatusTable body={body} />
          <h2>{say('waters.launches')}</h2>
          <ul>
            {launches.data
              ?.filter((l) => l.body.water === id)
              .map((l) => (
                <li key={l.id}>
                  <Link href={`/launches/${l.id}`}>{l.name}</Link>
                </li>
              ))}
          </ul>
          <p>
            <Link href={`/ledger?lastWater=${id}`}>{say('waters.from')}</Link>
          </p>
        </section>
      </div>
      {manager ? <Declare subject={read.data} body={body} /> : null}
      {manager && editing ? (
        <RecordForm kind="water" fields={waterFields()} subject={read.data} done={() => setEditing(false)} />
      ) : null}
      {manager && !editing ? (
        <p>
          <button type="button" onClick={() => setEditing(true)}>
            {say('boat.correct')}
          </button>
        </p>
      ) : null}
      <History entries={history.data?.items ?? []} />
    </>
  );
}

function StatusTable({ body }: { body: Water }) {
  const organisms = useOrganisms();
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{say('waters.organism')}</th>
          <th scope="col">{say('waters.status')}</th>
          <th scope="col">{say('ledger.since')}</th>
          <th scope="col">{say('ledger.until')}</th>
          <th scope="col">{say('waters.evidence')}</th>
        </tr>
      </thead>
      <tbody>
        {body.statuses?.map((s) => (
          <tr key={s.organism + s.from}>
            <th scope="row">{organisms.name(s.organism)}</th>
            <td>{statusWord(s.status ?? '')}</td>
            <td>
              {s.from.slice(0, 10)}
              {s.suspectedSince ? (
                <span className="when"> ({say('waters.suspected', { day: s.suspectedSince.slice(0, 10) })})</span>
              ) : null}
            </td>
            <td>{s.to?.slice(0, 10) ?? say('waters.still')}</td>
            <td>{s.evidence}</td>
          </tr>
        ))}
        <tr>
          <th scope="row">{say('waters.others')}</th>
          <td>{statusWord(body.others ?? '')}</td>
          <td />
          <td />
          <td />
        </tr>
      </tbody>
    </table>
  );
}

/** One of the library's organisms by name: those that some water has a status of first, for they are declared most often. */
function PickOrganism({ known }: { known: string[] }) {
  const { all, name } = useOrganisms();
  const options = (ids: string[]) =>
    byName(ids.map((id) => ({ id, name: name(id) }))).map(([id, word]) => (
      <option key={id} value={id}>
        {word}
      </option>
    ));
  return (
    <label>
      {say('waters.organism')}
      <select name="organism" required>
        <option value="">{say('waters.chooseOrganism')}</option>
        <optgroup label={say('waters.organismsHere')}>{options(known)}</optgroup>
        <optgroup label={say('waters.organismsOther')}>
          {options(all.map((o) => o.id).filter((id) => !known.includes(id)))}
        </optgroup>
      </select>
      <small>{say('waters.organismHint')}</small>
    </label>
  );
}

/** Declares a status. What it would change is shown before anything is kept; what was said at the ramp stays. */
function Declare({ subject, body }: { subject: Schemas['Subject']; body: Water }) {
  const cache = useQueryClient();
  const [effect, setEffect] = useState<Schemas['Differences']>();
  const [problem, setProblem] = useState<Problem | string>();
  const waters = useKind('water');
  const organisms = organismsOf(waters.data ?? []);
  const look = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const text = (name: string) => String(form.get(name) ?? '');
    const day = (name: string) => (text(name) ? `${text(name)}T00:00:00Z` : '');
    const asked: DatedStatus = {
      organism: text('organism'),
      status: text('status'),
      from: day('from'),
      evidence: text('evidence'),
      ...(day('suspected') && { suspectedSince: day('suspected') }),
    };
    const { data, error, response } = await api.POST('/api/what-if', {
      body: { water: subject.subject, status: asked as never },
    });
    setProblem(error ? new Problem(response.status, error) : undefined);
    setEffect(data);
  };
  const keep = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    if (!effect?.statuses) return;
    const { error, response } = await api.POST('/api/subjects/{id}/corrections', {
      params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
      body: {
        why: String(new FormData(event.currentTarget).get('why')),
        body: { ...body, statuses: effect.statuses } as never,
      },
    });
    if (error) {
      setProblem(response.status === 412 ? say('boat.overtaken') : new Problem(response.status, error));
      return;
    }
    setEffect(undefined);
    await cache.invalidateQueries();
  };
  return (
    <section>
      <h2>{say('waters.declare')}</h2>
      <p>{say('waters.declareLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <form className="fields" onSubmit={look}>
        <PickOrganism known={organisms} />
        <label>
          {say('waters.status')}
          <select name="status" required>
            {statuses.map((s) => (
              <option key={s} value={s}>
                {statusWord(s)}
              </option>
            ))}
          </select>
        </label>
        <label>
          {say('ledger.since')}
          <input name="from" type="date" required />
        </label>
        <label>
          {say('waters.suspectedSince')}
          <input name="suspected" type="date" />
        </label>
        <label>
          {say('waters.evidence')}
          <input name="evidence" />
        </label>
        <p>
          <button type="submit">{say('waters.look')}</button>
        </p>
      </form>
      {effect ? <Effect of={effect} /> : null}
      {effect ? (
        <form className="inline" onSubmit={keep}>
          <label>
            {say('boat.why')}
            <input name="why" required maxLength={500} />
          </label>
          <button type="submit" className="main">
            {say('waters.publish')}
          </button>
        </form>
      ) : null}
    </section>
  );
}
