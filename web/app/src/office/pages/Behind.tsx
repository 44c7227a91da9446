import { keepPreviousData, useQuery } from '@tanstack/react-query';
import { Link } from 'wouter';
import { answer, api } from '../../shared/api.ts';
import { dayOf, moment } from '../clock.ts';
import { useEncounter, useNames } from '../data.ts';
import { behind, ledgerOf, limits, value } from '../figures.ts';
import { type Column, LongTable } from '../parts/LongTable.tsx';
import { Outcome } from '../parts/Outcome.tsx';
import { useFilters } from '../parts/query.ts';
import { RecordLink, useBody, useRecord } from '../parts/RecordLink.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { plain, type WashDone } from '../records.ts';
import { say } from '../words.ts';

const names = ['figure', 'by', 'key', 'from', 'to', 'launch', 'partner', 'all'] as const;

/** Where one figure of the season comes from: how it is computed, and every record behind it. */
export default function Behind() {
  const [asked, set] = useFilters(names);
  const { figure = '', all, by, key, ...span } = asked;
  const season = useQuery({
    queryKey: ['season', span],
    queryFn: () => answer(api.GET('/api/season', { params: { query: span } })),
  });
  const records = useQuery({
    queryKey: ['figure records', asked],
    placeholderData: keepPreviousData,
    queryFn: () =>
      answer(
        api.GET('/api/season/records', {
          params: { query: { ...span, figure, ...(by && { by, key: key ?? '' }), all: all === 'yes' } },
        }),
      ),
  });
  if (season.error) return <Trouble error={season.error} />;
  if (season.isPending) return <Reading />;
  const found = behind(season.data, figure, by, key);
  const ids = records.data?.items ?? [];
  const ledger = all === 'yes' ? undefined : ledgerOf(season.data, figure, by, key);
  return (
    <>
      <p className="crumb">
        <Link href={`/season?${new URLSearchParams(span)}`}>{say('season.title')}</Link>
      </p>
      <h1>
        {found
          ? [found.label, found.row].filter(Boolean).join(': ')
          : [season.data.figures.find((f) => f.id === figure)?.label ?? figure, plain(key)].filter(Boolean).join(': ')}
      </h1>
      {found ? (
        <>
          <p className="lead">
            {value(found)} {limits(found) ? say('behind.limits', { limits: limits(found) }) : null}
          </p>
          <p>
            {say('season.how')}: {found.how}.
          </p>
        </>
      ) : null}
      {found?.of && records.data?.wider ? (
        <label className="tick filters">
          <input
            type="checkbox"
            checked={all === 'yes'}
            onChange={(event) => set({ all: event.target.checked ? 'yes' : '' })}
          />
          {say('behind.all', { of: found.of })}
        </label>
      ) : null}
      {records.error ? <Trouble error={records.error} /> : null}
      {records.isPending ? (
        <Reading />
      ) : records.data ? (
        <>
          <p className="count" role="status">
            {say('ledger.end', { n: ids.length })} {ledger ? <Link href={ledger}>{say('behind.ledger')}</Link> : null}
          </p>
          <LongTable
            label={say('behind.records')}
            columns={columnsOf(records.data.kind)}
            rows={ids}
            total={ids.length + 1}
            id={(id) => id}
            sort=""
            onSort={() => undefined}
          />
        </>
      ) : null}
    </>
  );
}

const columnsOf = (kind: string): Column<string>[] =>
  kind === 'shift' ? shiftColumns() : kind === 'wash' ? washColumns() : craftColumns();

const craftColumns = (): Column<string>[] => [
  { key: 'at', head: say('season.record'), width: 'minmax(16rem, 2fr)', cell: (id) => <RecordLink id={id} /> },
  { key: 'class', head: say('ledger.craft'), width: 'minmax(9rem, 1fr)', cell: (id) => <Craft id={id} /> },
  { key: 'from', head: say('ledger.from'), width: 'minmax(9rem, 1fr)', cell: (id) => <From id={id} /> },
  { key: 'outcome', head: say('ledger.outcome'), width: '9rem', cell: (id) => <Left id={id} /> },
];

const shiftColumns = (): Column<string>[] => [
  { key: 'at', head: say('behind.shift'), width: 'minmax(16rem, 2fr)', cell: (id) => <ShiftLink id={id} /> },
  { key: 'to', head: say('behind.until'), width: '12rem', cell: (id) => <Until id={id} /> },
  { key: 'people', head: say('nav.people'), width: 'minmax(12rem, 2fr)', cell: (id) => <People id={id} /> },
];

const washColumns = (): Column<string>[] => [
  { key: 'at', head: say('behind.wash'), width: 'minmax(16rem, 2fr)', cell: (id) => <RecordLink id={id} /> },
  { key: 'kit', head: say('nav.kit'), width: 'minmax(9rem, 1fr)', cell: (id) => <Kit id={id} /> },
  {
    key: 'water',
    head: say('behind.waterL'),
    width: '8rem',
    number: true,
    cell: (id) => <Litres of="waterL" id={id} />,
  },
  { key: 'fuel', head: say('behind.fuelL'), width: '8rem', number: true, cell: (id) => <Litres of="fuelL" id={id} /> },
];

interface ShiftBody {
  launch: string;
  people?: string[];
  from: string;
  to?: string;
}

const useShift = (id: string) => useBody(id) as ShiftBody | undefined;
const useWash = (id: string) => useBody(id) as WashDone | undefined;

/** A shift by when it began and where; it leads to the craft met there that day. */
function ShiftLink({ id }: { id: string }) {
  const launch = useNames('launch');
  const shift = useShift(id);
  if (!shift) return <>…{id.slice(-6)}</>;
  const day = dayOf(shift.from);
  return (
    <Link href={`/ledger?${new URLSearchParams({ launch: shift.launch, from: day, to: day })}`}>
      {moment(shift.from, 'short')} {launch(shift.launch)}
    </Link>
  );
}

function Until({ id }: { id: string }) {
  const shift = useShift(id);
  return <>{shift && (moment(shift.to, 'short') || say('behind.open'))}</>;
}

function People({ id }: { id: string }) {
  const person = useNames('person');
  return <>{useShift(id)?.people?.map(person).join(', ')}</>;
}

const Litres = ({ of, id }: { of: 'waterL' | 'fuelL'; id: string }) => <>{useWash(id)?.[of]}</>;

function Kit({ id }: { id: string }) {
  const unit = useNames('unit');
  return <>{unit(useWash(id)?.kit)}</>;
}

const Craft = ({ id }: { id: string }) => <>{plain(useRecord(id)?.inspection?.setup?.class)}</>;

function From({ id }: { id: string }) {
  const water = useNames('water');
  const record = useRecord(id);
  return <>{record ? water(record.inspection?.lastWaters?.[0]?.water) || say('ledger.unknown') : ''}</>;
}

function Left({ id }: { id: string }) {
  const record = useRecord(id);
  const read = useEncounter(id);
  return read.data && record ? <Outcome of={read.data.given} refused={record.inspection?.refused} /> : null;
}
