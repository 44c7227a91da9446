import { Link } from 'wouter';
import type { Schemas } from '../../../shared/api.ts';
import { Reading, Trouble } from '../../parts/State.tsx';
import { Table } from '../../parts/Table.tsx';
import { say } from '../../words.ts';
import { byHour, Days, DaysKey, Hours, HoursKey, meanDay } from './Curves.tsx';
import { useArrivals } from './data.ts';
import { How, Range, SubPages, Warnings } from './parts.tsx';
import { amount, type Interval, percent, span } from './traffic.ts';

type Report = Schemas['ArrivalsReport'];
type Day = Schemas['DayArrivals'];

/** When craft arrive: by launch, by hour, by day, and what kind of day does. */
export default function Arrivals() {
  const read = useArrivals();
  return (
    <>
      <SubPages />
      <h1>{say('arrivals.title')}</h1>
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {read.data ? <Report of={read.data} /> : read.error ? null : <Reading />}
    </>
  );
}

function Report({ of }: { of: Report }) {
  const days = of.days ?? [];
  const weekday = byHour(of.weekdayHours, meanDay(days, false));
  const free = byHour(of.freeDayHours, meanDay(days, true));
  return (
    <>
      <p className="lead">
        {say('arrivals.lead', { total: amount(of.total.mid), span: span(of.total), from: of.from, to: of.to })}
      </p>
      <Warnings of={of.warnings} />
      <h2>{say('arrivals.hours')}</h2>
      <Hours weekday={weekday} free={free} />
      <HoursKey />
      <HoursTable weekday={weekday} free={free} />
      <How>{say('arrivals.howHours')}</How>
      <h2>{say('arrivals.days')}</h2>
      <Days days={days} />
      <DaysKey />
      <DaysTable days={days} />
      <How>{say('arrivals.howDays')}</How>
      <Kinds of={of} days={days} />
      <Launches of={of} />
    </>
  );
}

/** How many were counted, leading to their records. */
function Counted({ n, what, where }: { n: number; what: string; where: string }) {
  return (
    <Link href={`/ledger?${where}`} aria-label={`${amount(n)}: ${what}, ${say('traffic.ledger')}`}>
      {amount(n)}
    </Link>
  );
}

function HoursTable({ weekday, free }: { weekday: Interval[]; free: Interval[] }) {
  const top = Math.max(...weekday.map((h) => h.hi), ...free.map((h) => h.hi));
  return (
    <details>
      <summary>{say('flows.table')}</summary>
      <Table
        label={say('arrivals.hours')}
        rows={weekday.map((w, h) => ({ w, f: free[h], hour: `${h}–${h + 1} h` }))}
        id={({ hour }) => hour}
        parts={[
          { head: say('arrivals.hour'), cell: ({ hour }) => hour },
          {
            head: say('arrivals.weekday'),
            cell: ({ w }) => <Range of={w} top={top} what={say('arrivals.weekday')} />,
          },
          {
            head: say('arrivals.free'),
            cell: ({ f }) => (f ? <Range of={f} top={top} what={say('arrivals.free')} /> : ''),
          },
        ]}
      />
    </details>
  );
}

function DaysTable({ days }: { days: Day[] }) {
  const top = Math.max(...days.map((d) => d.craft.hi));
  return (
    <details>
      <summary>{say('flows.table')}</summary>
      <Table
        label={say('arrivals.days')}
        rows={days}
        id={(d) => d.day}
        parts={[
          { head: say('arrivals.day'), cell: (d) => d.day },
          { head: say('arrivals.type'), cell: (d) => say(`arrivals.${d.type}`) },
          { head: say('arrivals.craft'), cell: (d) => <Range of={d.craft} top={top} what={d.day} /> },
          { head: say('arrivals.usual'), n: true, cell: (d) => amount(d.usual) },
          {
            head: say('arrivals.counted'),
            n: true,
            cell: (d) =>
              d.counted > 0 ? <Counted n={d.counted} what={d.day} where={`from=${d.day}&to=${d.day}`} /> : '',
          },
          {
            head: say('arrivals.expected'),
            n: true,
            cell: (d) => (d.expected > 0 ? amount(d.expected) : ''),
          },
        ]}
      />
    </details>
  );
}

function Kinds({ of, days }: { of: Report; days: Day[] }) {
  const effects = of.effects ?? [];
  const top = Math.max(1, ...effects.map((e) => e.factor.hi));
  const holidays = days.filter((d) => d.type === 'holiday').map((d) => d.day);
  return (
    <>
      <h2>{say('arrivals.types')}</h2>
      <p className="inline-facts">{say('arrivals.typesText', { holidays: holidays.join(', ') || '–' })}</p>
      <Table
        label={say('arrivals.types')}
        rows={effects}
        id={(e) => e.name}
        parts={[
          { head: say('arrivals.effect'), cell: (e) => e.name },
          { head: say('arrivals.factor'), cell: (e) => <Range of={e.factor} top={top} what={e.name} /> },
        ]}
      />
      <p>{of.daySpread > 0 ? say('arrivals.spread', { cv: amount(of.daySpread) }) : say('arrivals.noSpread')}</p>
    </>
  );
}

function Launches({ of }: { of: Report }) {
  const launches = of.launches ?? [];
  const top = Math.max(...launches.map((l) => l.season.hi));
  return (
    <>
      <h2>{say('arrivals.launches')}</h2>
      <How card>{say('arrivals.howLaunch')}</How>
      <Table
        label={say('arrivals.launches')}
        rows={launches}
        id={(l) => l.launch.id}
        parts={[
          {
            head: say('arrivals.launch'),
            cell: (l) => <Link href={`/launches/${l.launch.id}`}>{l.launch.name}</Link>,
          },
          {
            head: say('arrivals.seasonTotal'),
            cell: (l) => <Range of={l.season} top={top} what={l.launch.name} />,
          },
          { head: say('arrivals.staffed'), n: true, cell: (l) => l.hours.toFixed(1) },
          {
            head: say('arrivals.counted'),
            n: true,
            cell: (l) => (
              <Counted n={l.counted} what={l.launch.name} where={`launch=${l.launch.id}&from=${of.from}&to=${of.to}`} />
            ),
          },
          { head: say('arrivals.share'), n: true, cell: (l) => percent(l.share) },
        ]}
      />
    </>
  );
}
