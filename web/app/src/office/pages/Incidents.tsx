import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useEffect, useRef, useState } from 'react';
import { Link, useLocation, useParams } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { dateWords, dayOf, moment } from '../clock.ts';
import { useBelonging, useEncounter, useMe, useNames, useProgramme } from '../data.ts';
import { From, SameCraft, To } from '../parts/Affected.tsx';
import { Said } from '../parts/Correct.tsx';
import { Found } from '../parts/Found.tsx';
import { Outcome } from '../parts/Outcome.tsx';
import { useFilters } from '../parts/query.ts';
import { Receipts } from '../parts/Receipts.tsx';
import { InTurn, Missing, Reading, Trouble } from '../parts/State.tsx';
import { useDraft } from '../parts/useDraft.ts';
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
      <InTurn>
        {me.data?.role === 'manager' ? <Open given={given} /> : null}
        {rows.length === 0 ? <p>{say('incident.none')}</p> : null}
        <ul className="cards">
          {rows.map((row) => (
            <li key={row.id}>
              <Link href={`/incidents/${row.id}`}>
                <b>{row.body.what}</b>
              </Link>
              <p className="when">
                <Stands body={row.body} />
              </p>
            </li>
          ))}
        </ul>
      </InTurn>
    </>
  );
}

/** Whether an incident is open, and since when; or when it was closed. */
function Stands({ body }: { body: Incident }) {
  return body.state === 'open'
    ? say('incident.openSince', { at: moment(body.openedAt) })
    : say('incident.closedAt', { at: moment(body.closedAt) });
}

function Open({ given }: { given: { encounter?: string; water?: string } }) {
  const [, go] = useLocation();
  const cache = useQueryClient();
  const water = useNames('water');
  const [problem, setProblem] = useState<Problem>();
  const open = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const what = String(new FormData(event.currentTarget).get('what'));
    const body: Incident = { what, openedAt: new Date().toISOString(), state: 'open', ...given };
    const { data, error, response } = await api.POST('/api/subjects', {
      body: { kind: 'incident' as never, body: body as never },
    });
    if (error) {
      setProblem(new Problem(response.status, error));
      return;
    }
    await cache.invalidateQueries(); // the morning and the record speak of open incidents
    go(`/incidents/${data.subject}`);
  };
  return (
    <section>
      <InTurn>
        {given.encounter || given.water ? <h2>{say('incident.about')}</h2> : null}
        {given.encounter ? <About id={given.encounter} /> : null}
        {given.water ? (
          <p>
            <Link href={`/waters/${given.water}`}>{water(given.water)}</Link>
          </p>
        ) : null}
        {problem ? <Said problem={problem} /> : null}
        <form className="inline" onSubmit={open}>
          <label>
            {say('incident.what')}
            <input name="what" required maxLength={2000} />
          </label>
          <button type="submit">{say('incident.act')}</button>
        </form>
      </InTurn>
    </section>
  );
}

/** The craft that an incident is about to be opened for, and the incidents that it is part of already. */
function About({ id }: { id: string }) {
  const read = useEncounter(id);
  const already = useBelonging('incident', id);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  return (
    <>
      <Met detail={read.data} />
      {already.length > 0 ? (
        <p>
          {say('incident.already')}{' '}
          {already.map((r) => (
            <Link key={r.subject} href={`/incidents/${r.subject}`}>
              {r.body?.what}
            </Link>
          ))}
        </p>
      ) : null}
    </>
  );
}

/** A craft as it was met: which, where, when, what it left with, and what was found. */
function Met({ detail }: { detail: Schemas['EncounterDetail'] }) {
  const launch = useNames('launch');
  const body = detail.encounter.body as Encounter | undefined;
  if (!body) return <Missing />;
  const i = body.inspection;
  return (
    <>
      <p className="plate-line">
        <Link href={`/ledger/${detail.encounter.subject}`}>
          {plain(i.setup?.class) || say('boat.unknown')}, {launch(i.launch) || say('boat.unknown')},{' '}
          {moment(i.startedAt)}
        </Link>{' '}
        <Outcome of={detail.given} refused={i.refused} />
      </p>
      <h3>{say('boat.found')}</h3>
      <Found inspection={i} />
    </>
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
  const manages = me.data?.role === 'manager';
  const may = manages && body.state === 'open' ? change : undefined;
  return (
    <>
      <p className="crumb">
        <Link href="/incidents">{say('nav.incidents')}</Link>
      </p>
      <h1>{body.what}</h1>
      <p className="lead">
        <Stands body={body} />
      </p>
      <InTurn>
        <div className="pair">
          <section>
            <Steps body={body} change={may} />
            <Contacts body={body} change={may} />
          </section>
          <section>
            <h2>{say('incident.timeline')}</h2>
            <Log id={subject.subject} />
            {problem ? <Said problem={problem} /> : null}
            {may ? <Write id={subject.subject} body={body} change={may} /> : null}
            {manages && body.state !== 'open' ? <OpenAgain body={body} change={change} /> : null}
          </section>
        </div>
        {body.encounter ? <Craft id={body.encounter} /> : null}
        {body.water ? <From water={body.water} at={body.openedAt} /> : null}
        {body.water ? <To water={body.water} at={body.openedAt} /> : null}
      </InTurn>
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

const steps = ['safe', 'hold', 'photo', 'call', 'trace'] as const;

const doneText = (what: string) => say('incident.done', { what });

/** The steps that nobody has said are done. */
const stepsLeft = (body: Incident): string[] =>
  steps.map((step) => say(`incident.do.${step}`)).filter((what) => !body.notes?.some((n) => n.text === doneText(what)));

/** A reason as a correction takes it. */
const brief = (text: string) => text.slice(0, 200);

/** What to do, in order, people first. What is done is written into the timeline, and so is what was taken back. */
function Steps({ body, change }: { body: Incident; change: Change | undefined }) {
  const me = useMe();
  const by = me.data?.person;
  const left = stepsLeft(body);
  return (
    <>
      <h2>{say('incident.next')}</h2>
      <ol className="reasons">
        {steps.map((step) => {
          const what = say(`incident.do.${step}`);
          const text = doneText(what);
          const done = !left.includes(what);
          const notes = body.notes ?? [];
          const next = done ? notes.filter((n) => n.text !== text) : [...notes, { at: now(), text, ...(by && { by }) }];
          return (
            <li key={step} className={done ? 'done' : undefined}>
              {done ? text : what}{' '}
              {change ? (
                <button
                  type="button"
                  aria-label={say(done ? 'incident.notDoneOf' : 'incident.doneOf', { what })}
                  onClick={() =>
                    void change(
                      { ...body, notes: next },
                      done ? brief(say('incident.takenBack', { what: text })) : text,
                    )
                  }
                >
                  {say(done ? 'incident.notDone' : 'incident.didIt')}
                </button>
              ) : null}
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
      <ul className="acts-list">
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

interface Line {
  at: string;
  who: string;
  text: string;
}

/** What one entry of an incident added to how it stood before, or took away. */
function linesOf(
  e: Schemas['Kept'],
  body: Incident,
  before: Incident | undefined,
  name: (id?: string) => string,
): Line[] {
  const who = name(e.person) || plain(e.origin);
  const key = (n: { at: string; text?: string; role?: string }) => `${n.at} ${n.text ?? n.role}`;
  const without = <T extends { at: string }>(all: T[] | undefined, those: T[] | undefined) => {
    const had = new Set(those?.map(key));
    return (all ?? []).filter((n) => !had.has(key(n)));
  };
  const lines = [
    ...without(body.notes, before?.notes).map((n) => ({ at: n.at, who: name(n.by) || who, text: n.text })),
    ...without(body.called, before?.called).map((c) => ({
      at: c.at,
      who,
      text: say('incident.called', { who: plain(c.role) }),
    })),
    ...without(before?.notes, body.notes).map((n) => ({
      at: e.madeAt,
      who,
      text: say('incident.takenBack', { what: n.text }),
    })),
  ];
  if (!before) lines.unshift({ at: body.openedAt, who, text: say('incident.opened') });
  if (body.closedAt && body.closedAt !== before?.closedAt) {
    lines.push({ at: body.closedAt, who, text: before && e.why ? e.why : say('incident.closed') });
  }
  if (before?.state === 'closed' && body.state === 'open') {
    lines.push({ at: e.madeAt, who, text: say('incident.openedAgain', { why: e.why ?? '' }) });
  }
  return lines;
}

/** What happened when, and who did it, told from every entry of the incident. */
function Log({ id }: { id: string }) {
  const person = useNames('person');
  const read = useQuery({
    queryKey: ['history', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}/history', { params: { path: { id } } })),
  });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const entries = read.data.items ?? [];
  const bodies = new Map(entries.map((e) => [e.id, e.body as unknown as Incident | undefined]));
  const lines = entries
    .flatMap((e) => {
      const body = bodies.get(e.id);
      return body ? linesOf(e, body, bodies.get(e.supersedes ?? ''), person) : [];
    })
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  return (
    <ol className="history">
      {lines.map((l) => (
        <li key={l.at + l.text}>
          <span className="when">
            {moment(l.at)}, {l.who}
          </span>
          <div>{l.text}</div>
        </li>
      ))}
    </ol>
  );
}

/**
 * Writes a line of what happened, and closes the incident; a line that was typed and not added is kept with the closing, and waits
 * here for whoever typed it when the page is left.
 */
function Write({ id, body, change }: { id: string; body: Incident; change: Change }) {
  const me = useMe();
  const { text, found, set } = useDraft(`note ${me.data?.person} ${id}`);
  const [closing, setClosing] = useState(false);
  const asked = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (closing) asked.current?.focus();
  }, [closing]);
  const written = () => {
    const line = { at: now(), text: text.trim(), ...(me.data && { by: me.data.person }) };
    return line.text ? { ...body, notes: [...(body.notes ?? []), line] } : body;
  };
  const note = async (event: FormEvent) => {
    event.preventDefault();
    if (await change(written(), brief(text))) set('');
  };
  const left = stepsLeft(body);
  const close = async () => {
    const why = say('incident.closedLeft', { n: left.length });
    if (await change({ ...written(), state: 'closed', closedAt: now() }, why)) set('');
  };
  return (
    <>
      <form className="inline" onSubmit={note}>
        <label>
          {say('incident.note')}
          <input
            value={text}
            onChange={(e) => set(e.target.value)}
            required
            maxLength={2000}
            aria-describedby={found ? 'not-added' : undefined}
          />
        </label>
        <button type="submit">{say('incident.write')}</button>
        {found ? (
          <p className="when" id="not-added">
            {say('incident.notAdded')}
          </p>
        ) : null}
      </form>
      {closing ? (
        // biome-ignore lint/a11y/useSemanticElements: a question with two answers, no fields of a form
        <div role="group" aria-label={say('incident.close')} tabIndex={-1} ref={asked}>
          <p>{say('incident.left', { n: left.length })}</p>
          <ul>
            {left.map((what) => (
              <li key={what}>{what}</li>
            ))}
          </ul>
          {text.trim() ? <p>{say('incident.noteKept', { text: text.trim() })}</p> : null}
          <p>
            <button type="button" className="main" onClick={() => void close()}>
              {say(left.length > 0 ? 'incident.closeAnyway' : 'incident.closeNow')}
            </button>{' '}
            <button type="button" onClick={() => setClosing(false)}>
              {say('incident.leaveOpen')}
            </button>
          </p>
        </div>
      ) : (
        <p>
          <button type="button" onClick={() => setClosing(true)}>
            {say('incident.close')}
          </button>
        </p>
      )}
    </>
  );
}

/** Opens a closed incident again; the reason stays in its log. */
function OpenAgain({ body, change }: { body: Incident; change: Change }) {
  const again = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const { closedAt: _, ...rest } = body;
    await change({ ...rest, state: 'open' }, String(new FormData(event.currentTarget).get('why')));
  };
  return (
    <form className="inline" onSubmit={again}>
      <label>
        {say('incident.whyAgain')}
        <input name="why" required maxLength={200} />
      </label>
      <button type="submit">{say('incident.again')}</button>
    </form>
  );
}

function Craft({ id }: { id: string }) {
  const water = useNames('water');
  const launch = useNames('launch');
  const read = useEncounter(id);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const body = read.data.encounter.body as Encounter | undefined;
  if (!body) return <Missing />;
  const i = body.inspection;
  const visits = i.lastWaters ?? [];
  const told = (some: typeof visits) =>
    some
      .map((v) => `${water(v.water) || say('boat.unknown')} (${moment(v.outAt) || say('boat.unknown')})`)
      .join('; ') || say('boat.unknown');
  const lasts = [...new Set(visits.map((v) => v.water).filter(Boolean))];
  const day = dayOf(i.startedAt);
  return (
    <>
      <h2>{say('incident.craft')}</h2>
      <Met detail={read.data} />
      <p>
        {say('incident.last')}: {told(visits.slice(0, 1))}.{' '}
        {visits.length > 1 ? `${say('incident.beforeThat')}: ${told(visits.slice(1))}. ` : null}
        {say('boat.next')}: {water(i.nextWater ?? i.water) || say('boat.unknown')}.
      </p>
      <Receipts of={id} />
      {i.launch ? (
        <p>
          <Link href={`/ledger?launch=${i.launch}&from=${day}&to=${day}`}>
            {say('incident.sameDay', { launch: launch(i.launch), day: dateWords(day) })}
          </Link>
        </p>
      ) : null}
      <SameCraft mark={body.mark?.hash} at={i.startedAt} not={id} />
      {lasts.map((w) => (
        <From key={w} water={w} at={i.startedAt} not={id} before={w !== visits[0]?.water} />
      ))}
    </>
  );
}
