import { keepPreviousData, useQuery } from '@tanstack/react-query';
import { useEffect, useRef, useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { dateWords, moment } from '../clock.ts';
import { useMe } from '../data.ts';
import { Said } from '../parts/Correct.tsx';
import { JobLine } from '../parts/JobLine.tsx';
import { JobRefused } from '../parts/JobRefused.tsx';
import { useFilters } from '../parts/query.ts';
import { RosterForm } from '../parts/RosterForm.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { useJob } from '../parts/useJob.ts';
import { Week } from '../parts/Week.tsx';
import { few, whole } from '../plans.ts';
import { type Ask, type Change, dayWords, type Gap, gapsOf, hoursWords, type Roster } from '../rosters.ts';
import { say } from '../words.ts';

/** Who stands where and when. Only a manager may see and make rosters: they say where people will be. */
export default function RosterPage() {
  const me = useMe();
  return (
    <>
      <h1>{say('nav.roster')}</h1>
      <p className="lead">{say('roster.lead')}</p>
      {me.data?.role === 'manager' ? <Made /> : <p className="state">{say('roster.managers')}</p>}
    </>
  );
}

const names = ['made', 'week'] as const;

function Made() {
  const [{ made, week }, set] = useFilters(names);
  const { job, read, running, start: begin, follow, cancel, problem } = useJob('roster', made);
  const [changed, setChanged] = useState(false);
  const start = async (ask: Ask) => {
    await begin(ask);
    set({ made: '', week: '' }); // what was asked for now is the latest
  };
  const change = async (id: string, body: Change) => {
    if (running) return;
    const begun = await follow(api.POST('/api/roster/{id}/changes', { params: { path: { id } }, body }));
    if (!begun) return;
    setChanged(true);
    set({ made: '' });
  };
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const ask = job?.input as Ask | undefined;
  const roster = job?.state === 'done' ? (job.result as Roster) : undefined;
  return (
    <>
      <details open={!roster} className="filters-box">
        <summary>{say('roster.make')}</summary>
        <RosterForm last={ask} busy={running} start={(a) => void start(a)} />
      </details>
      {problem ? <Said problem={problem.status === 409 ? say('roster.overtaken') : problem} /> : null}
      <JobLine job={job} cancel={() => void cancel()} />
      <JobRefused job={job} />
      {job ? null : <p className="state">{say('roster.none')}</p>}
      {roster && ask && job ? (
        <Shown
          key={job.id}
          id={job.id}
          ask={ask}
          roster={roster}
          asked={changed}
          week={week}
          show={(monday) => set({ week: monday })}
          change={(body) => void change(job.id, body)}
        />
      ) : null}
      <Earlier shown={job} />
    </>
  );
}

/** The rosters that were made, the latest first: making another takes none of them away. */
function Earlier({ shown }: { shown: Schemas['Job'] | undefined }) {
  const read = useQuery({
    queryKey: ['job', 'roster', 'list', shown?.id, shown?.state], // one that is done now is among them
    placeholderData: keepPreviousData,
    queryFn: () => answer(api.GET('/api/jobs', { params: { query: { kind: 'roster', limit: 50 } } })),
  });
  const made = (read.data?.items ?? []).filter((job) => job.state === 'done');
  if (made.length < 2) return null;
  return (
    <>
      <h2>{say('roster.earlier')}</h2>
      <ul>
        {made.map((job) => (
          <li key={job.id}>
            {job.id === shown?.id ? (
              <b>{say('roster.madeAt', { at: moment(job.createdAt) })}</b>
            ) : (
              <Link href={`/roster?made=${job.id}`}>{say('roster.madeAt', { at: moment(job.createdAt) })}</Link>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}

function Shown(props: {
  id: string;
  ask: Ask;
  roster: Roster;
  /** It came of a change that was asked for on this page. */
  asked: boolean;
  week: string | undefined;
  show: (monday: string) => void;
  change: (body: Change) => void;
}) {
  const { id, ask, roster, asked } = props;
  const heading = useRef<HTMLHeadingElement>(null);
  // The button that asked for it is gone: a keyboard and a reader's voice go on at what came of it.
  useEffect(() => {
    if (asked) heading.current?.focus();
  }, [asked]);
  if (roster.rows.length === 0) return <p className="state">{say('roster.empty', { from: ask.from, to: ask.to })}</p>;
  const needed = roster.rows.reduce((sum, r) => sum + r.people.length + r.open, 0);
  return (
    <>
      <h2 ref={heading} tabIndex={-1}>
        {say('roster.span', { from: dateWords(ask.from), to: dateWords(ask.to) })}
      </h2>
      <p className="board">
        {say('roster.sum', { shifts: roster.rows.length, needed, open: roster.open })}{' '}
        {say(roster.proved ? 'roster.proved' : 'roster.notProved')}
        {ask.keep?.length ? ` ${say('roster.changed', { n: roster.changed })}` : ''}
      </p>
      <Gave ask={ask} roster={roster} />
      <Week
        roster={id}
        rows={roster.rows}
        week={props.week}
        show={props.show}
        give={(give) => props.change({ give })}
        repair={(absent) => props.change({ absent })}
      />
      <Gaps gaps={gapsOf(roster.rows, ask.shifts)} />
      <People id={id} roster={roster} changed={Boolean(ask.of)} />
      {roster.notes.length ? (
        <details open={roster.open > 0}>
          <summary>{say('roster.notes')}</summary>
          <ul>
            {roster.notes.map((n) => (
              <li key={n}>{n}</li>
            ))}
          </ul>
        </details>
      ) : null}
    </>
  );
}

/** What was given by hand last, where the roster came from that. */
function Gave({ ask, roster }: { ask: Ask; roster: Roster }) {
  const give = ask.give;
  if (!give) return null;
  const row = roster.rows.find((r) => r.launch === give.launch && r.day === give.day && r.from === give.from);
  const name = (id: string) => roster.people.find((p) => p.id === id)?.name ?? '';
  const where = { day: dayWords(give.day), hours: row ? hoursWords(row) : '', launch: row?.name ?? '' };
  return (
    <p className="effect" role="status">
      {give.holder
        ? say('roster.gaveInstead', { ...where, name: name(give.person), before: name(give.holder) })
        : say('roster.gave', { ...where, name: name(give.person) })}
    </p>
  );
}

const shownGaps = 20;

/** What is missing, the shift that would stop most first. */
function Gaps({ gaps }: { gaps: Gap[] }) {
  return (
    <>
      <h2>{say('roster.gaps')}</h2>
      {gaps.length === 0 ? (
        <p>{say('roster.noGaps')}</p>
      ) : (
        <Table
          label={say('roster.gaps')}
          caption={say('roster.gapsLead', { n: gaps.length, shown: Math.min(shownGaps, gaps.length) })}
          rows={gaps.slice(0, shownGaps)}
          id={({ row }) => `${row.day}${row.from}${row.launch}`}
          parts={[
            { head: say('roster.day'), cell: ({ row }) => dayWords(row.day) },
            { head: say('roster.hours'), cell: ({ row }) => hoursWords(row) },
            { head: say('plan.launch'), cell: ({ row }) => row.name },
            { head: say('roster.missing'), n: true, cell: ({ row }) => row.open },
            {
              head: say('roster.risk'),
              n: true,
              cell: ({ risk }) => (risk === undefined ? say('roster.riskUnknown') : few(risk)),
            },
          ]}
        />
      )}
    </>
  );
}

/**
 * What the roster asks of each person, and their calendar. By name: this is no ranking. In a roster that was changed, a calendar
 * without a shift can still take back those that were lost.
 */
function People({ id, roster, changed }: { id: string; roster: Roster; changed: boolean }) {
  const calendar = `/api/roster/${id}/calendar`;
  return (
    <>
      <h2>{say('nav.people')}</h2>
      <p>
        <a href={calendar}>{say('roster.calendarAll')}</a>. {say('roster.calendarLead')}
      </p>
      <Table
        label={say('nav.people')}
        rows={roster.people}
        id={(p) => p.id}
        parts={[
          {
            head: say('roster.person'),
            cell: (p) => (
              <>
                {p.name}
                {p.new ? <span className="when">{say('roster.new')}</span> : null}
              </>
            ),
          },
          { head: say('roster.shifts'), n: true, cell: (p) => p.shifts },
          { head: say('plan.hoursCol'), n: true, cell: (p) => whole(p.hours) },
          { head: say('roster.freeDays'), n: true, cell: (p) => whole(p.freeDays) },
          {
            head: say('roster.calendar'),
            cell: (p) =>
              p.shifts > 0 || changed ? (
                <a href={`${calendar}?person=${p.id}`} aria-label={say('roster.calendarOf', { name: p.name })}>
                  iCalendar
                </a>
              ) : null,
          },
        ]}
      />
    </>
  );
}
