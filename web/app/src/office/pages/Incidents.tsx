import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link, useLocation, useParams } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useMe, useNames, useProgramme } from '../data.ts';
import { From, SameCraft, To } from '../parts/Affected.tsx';
import { Said } from '../parts/Correct.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { type Encounter, plain } from '../records.ts';
import { say } from '../words.ts';

interface Incident {
  what: string;
  encounter?: string;
  water?: string;
  openedAt: string;
  state: string;
  closedAt?: string;
  notes?: { at: string; by?: string; text: string }[];
  called?: { at: string; role: string; words?: string; phone?: string }[];
}

function useIncidents() {
  return useQuery({
    queryKey: ['incidents'],
    queryFn: () => answer(api.GET('/api/subjects', { params: { query: { kind: 'incident' as never, limit: 200 } } })),
  });
}

const opened = ['encounter', 'water'] as const;

/** Every incident, open ones first, and a way to open one. */
export default function Incidents() {
  const read = useIncidents();
  const me = useMe();
  const [given] = useFilters(opened);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const rows = (read.data.items ?? [])
    .map((row) => ({ id: row.subject, body: row.body as unknown as Incident }))
    .sort((a, b) => b.body.state.localeCompare(a.body.state) || b.body.openedAt.localeCompare(a.body.openedAt));
  return (
    <>
      <h1>{say('nav.incidents')}</h1>
      <p className="lead">{say('incident.lead')}</p>
      {me.data?.role === 'manager' ? <Open given={given} /> : null}
      {rows.length === 0 ? <p>{say('incident.none')}</p> : null}
      <ul className="cards">
        {rows.map((row) => (
          <li key={row.id}>
            <Link href={`/incidents/${row.id}`}>
              <b>{row.body.what}</b>
            </Link>
            <p className="when">
              {say(row.body.state === 'open' ? 'incident.open' : 'incident.closed')}, {moment(row.body.openedAt)}
            </p>
          </li>
        ))}
      </ul>
    </>
  );
}

function Open({ given }: { given: { encounter?: string; water?: string } }) {
  const [, go] = useLocation();
  const [problem, setProblem] = useState<Problem>();
  const open = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const what = String(new FormData(event.currentTarget).get('what'));
    const body: Incident = { what, openedAt: new Date().toISOString(), state: 'open', ...given };
    const { data, error, response } = await api.POST('/api/subjects', {
      body: { kind: 'incident' as never, body: body as never },
    });
    if (error) setProblem(new Problem(response.status, error));
    else go(`/incidents/${data.subject}`);
  };
  return (
    <form className="inline" onSubmit={open}>
      {problem ? <Said problem={problem} /> : null}
      <label>
        {say('incident.what')}
        <input name="what" required maxLength={2000} />
      </label>
      <button type="submit">{say('incident.act')}</button>
    </form>
  );
}

/** One incident: what is known, where the craft came from and went, other craft from there, whom to call, what was done. */
export function OneIncident() {
  const { id = '' } = useParams();
  const read = useQuery({
    queryKey: ['subject', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}', { params: { path: { id } } })),
  });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  return <Told subject={read.data} />;
}

function Told({ subject }: { subject: Schemas['Subject'] }) {
  const body = subject.body as unknown as Incident;
  const me = useMe();
  const { change, problem } = useChange(subject);
  const may = me.data?.role === 'manager' && body.state === 'open' ? change : undefined;
  return (
    <>
      <p className="crumb">
        <Link href="/incidents">{say('nav.incidents')}</Link>
      </p>
      <h1>{body.what}</h1>
      <p className="lead">
        {say(body.state === 'open' ? 'incident.open' : 'incident.closed')}, {moment(body.openedAt)}
      </p>
      <div className="pair">
        <section>
          <Steps body={body} change={may} />
          <Contacts body={body} change={may} />
        </section>
        <Timeline subject={subject} body={body} change={may} problem={problem} />
      </div>
      {body.encounter ? <Craft id={body.encounter} /> : null}
      {body.water ? <From water={body.water} at={body.openedAt} /> : null}
      {body.water ? <To water={body.water} at={body.openedAt} /> : null}
    </>
  );
}

type Change = (next: Incident, why: string) => Promise<boolean>;

/** Keeps a change of an incident; what the server says against it stays on the page. */
function useChange(subject: Schemas['Subject']): { change: Change; problem: Problem | string | undefined } {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem | string>();
  const change = async (next: Incident, why: string) => {
    const { error, response } = await api.POST('/api/subjects/{id}/corrections', {
      params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
      body: { why, body: next as never },
    });
    setProblem(
      !error ? undefined : response.status === 412 ? say('boat.overtaken') : new Problem(response.status, error),
    );
    if (!error) await cache.invalidateQueries();
    return !error;
  };
  return { change, problem };
}

const now = () => new Date().toISOString();

/** What to do, in order, people first. What is done is written into the timeline. */
function Steps({ body, change }: { body: Incident; change: Change | undefined }) {
  const me = useMe();
  const by = me.data?.person;
  return (
    <>
      <h2>{say('incident.next')}</h2>
      <ol className="reasons">
        {(['safe', 'hold', 'photo', 'call', 'trace'] as const).map((step) => {
          const what = say(`incident.do.${step}`);
          const text = say('incident.done', { what });
          const done = body.notes?.some((n) => n.text === text);
          const note = { at: now(), text, ...(by && { by }) };
          return (
            <li key={step} className={done ? 'done' : undefined}>
              {done ? text : what}{' '}
              {done || !change ? null : (
                <button
                  type="button"
                  aria-label={say('incident.doneOf', { what })}
                  onClick={() => void change({ ...body, notes: [...(body.notes ?? []), note] }, text)}
                >
                  {say('incident.didIt')}
                </button>
              )}
            </li>
          );
        })}
      </ol>
    </>
  );
}

/** Whom to call, as the programme has written it down. A call that was made is written into the timeline. */
function Contacts({ body, change }: { body: Incident; change: Change | undefined }) {
  const contacts = useProgramme().data?.contacts ?? [];
  return (
    <>
      <h2>{say('incident.call')}</h2>
      {contacts.length === 0 ? <p>{say('incident.noContacts')}</p> : null}
      <ul>
        {contacts.map((c) => (
          <li key={c.role}>
            <b>{plain(c.role)}</b> {c.words} <a href={`tel:${c.phone}`}>{c.phone}</a>{' '}
            {change ? (
              <button
                type="button"
                onClick={() =>
                  void change(
                    { ...body, called: [...(body.called ?? []), { at: now(), ...c }] },
                    say('incident.called', { who: plain(c.role) }),
                  )
                }
              >
                {say('incident.call1', { who: plain(c.role) })}
              </button>
            ) : null}
          </li>
        ))}
      </ul>
    </>
  );
}

function Timeline(props: {
  subject: Schemas['Subject'];
  body: Incident;
  change: Change | undefined;
  problem: Problem | string | undefined;
}) {
  const { subject, body, change, problem } = props;
  const me = useMe();
  const person = useNames('person');
  const note = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = event.currentTarget;
    const text = String(new FormData(form).get('text'));
    const line = { at: now(), text, ...(me.data && { by: me.data.person }) };
    if (await change?.({ ...body, notes: [...(body.notes ?? []), line] }, text.slice(0, 200))) form.reset();
  };
  const lines = [
    { at: body.openedAt, text: say('incident.opened'), by: subject.person },
    ...(body.notes ?? []),
    ...(body.called ?? []).map((c) => ({
      at: c.at,
      text: say('incident.called', { who: plain(c.role) }),
      by: undefined,
    })),
    ...(body.closedAt ? [{ at: body.closedAt, text: say('incident.closed'), by: undefined }] : []),
  ].sort((a, b) => a.at.localeCompare(b.at));
  return (
    <section>
      <h2>{say('incident.timeline')}</h2>
      <ol className="history">
        {lines.map((l) => (
          <li key={l.at + l.text}>
            <span className="when">
              {moment(l.at)} {person(l.by)}
            </span>
            <div>{l.text}</div>
          </li>
        ))}
      </ol>
      {problem ? <Said problem={problem} /> : null}
      {change && body.state === 'open' ? (
        <>
          <form className="inline" onSubmit={note}>
            <label>
              {say('incident.note')}
              <input name="text" required maxLength={2000} />
            </label>
            <button type="submit">{say('incident.write')}</button>
          </form>
          <p>
            <button
              type="button"
              onClick={() => void change({ ...body, state: 'closed', closedAt: now() }, say('incident.closed'))}
            >
              {say('incident.close')}
            </button>
          </p>
        </>
      ) : null}
    </section>
  );
}

function Craft({ id }: { id: string }) {
  const water = useNames('water');
  const launch = useNames('launch');
  const read = useQuery({
    queryKey: ['encounter', id],
    queryFn: () => answer(api.GET('/api/encounters/{id}', { params: { path: { id } } })),
  });
  const body = read.data?.encounter.body as Encounter | undefined;
  if (!body) return null;
  const i = body.inspection;
  const lasts = [...new Set(i.lastWaters?.map((v) => v.water).filter(Boolean))];
  return (
    <>
      <h2>{say('incident.craft')}</h2>
      <p>
        <Link href={`/ledger/${id}`}>
          {plain(i.setup?.class)}, {launch(i.launch)}, {moment(i.startedAt)}
        </Link>
      </p>
      <p>
        {say('boat.last')}:{' '}
        {i.lastWaters
          ?.map((v) => `${water(v.water) || say('boat.unknown')} (${moment(v.outAt) || say('boat.unknown')})`)
          .join('; ') || say('boat.unknown')}
        . {say('boat.next')}: {water(i.nextWater ?? i.water) || say('boat.unknown')}.
      </p>
      <SameCraft mark={body.mark?.hash} at={i.startedAt} not={id} />
      {lasts.map((w) => (
        <From key={w} water={w} at={i.startedAt} not={id} />
      ))}
    </>
  );
}
