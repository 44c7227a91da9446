import { Link } from 'wouter';
import type { Schemas } from '../../shared/api.ts';
import { dayStart, moment } from '../clock.ts';
import { useNames } from '../data.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';
import type { Filters } from './LedgerFilters.tsx';
import type { Column } from './LongTable.tsx';
import { Outcome } from './Outcome.tsx';

type Row = Schemas['EncounterRow'];

/** The order that the ledger has until another is chosen: the latest first. */
export const usualSort = '-at';

/** What the server is asked for a filter, without order and page. */
export function filterQuery(f: Filters) {
  return {
    from: dayStart(f.from),
    to: dayStart(f.to, 1), // the last day is included
    launch: f.launch,
    lastWater: f.lastWater,
    earlierWater: f.earlierWater,
    nextWater: f.nextWater,
    mark: f.mark,
    steward: f.steward,
    outcome: f.outcome,
    class: f.class,
    refused: f.refused,
    found: f.found,
    doubt: f.doubt,
    flagged: f.flagged === 'yes' || undefined,
    withTests: f.withTests === 'yes' || undefined,
  };
}

/** The inspections that one check doubts, all of them, in the ledger; nothing where it doubts none. */
export function DoubtedCraft({ doubt }: { doubt: Schemas['Doubt'] }) {
  if (doubt.inspections === 0) return null;
  return (
    <p>
      <Link href={`/ledger?doubt=${doubt.id}`}>{say('ledger.doubted', { n: doubt.inspections })}</Link>
    </p>
  );
}

/** The columns of the ledger, on screen and in print. */
export function useColumns(): Column<Row>[] {
  const launch = useNames('launch');
  const water = useNames('water');
  const person = useNames('person');
  return [
    {
      key: 'at',
      head: say('ledger.when'),
      width: '11rem',
      sort: 'at',
      cell: (row) => <Link href={`/ledger/${row.subject}`}>{moment(row.at, 'short')}</Link>,
    },
    {
      key: 'launch',
      head: say('ledger.launch'),
      width: 'minmax(8rem, 1.4fr)',
      sort: 'launch',
      cell: (row) => launch(row.launch),
    },
    {
      key: 'class',
      head: say('ledger.craft'),
      width: 'minmax(7rem, 1fr)',
      sort: 'class',
      cell: (row) => plain(row.class),
    },
    {
      key: 'from',
      head: say('ledger.from'),
      width: 'minmax(8rem, 1.4fr)',
      cell: (row) => water(row.lastWater) || say('ledger.unknown'),
    },
    {
      key: 'next',
      head: say('ledger.next'),
      width: 'minmax(8rem, 1.2fr)',
      cell: (row) => water(row.nextWater) || say('ledger.unknown'),
    },
    {
      key: 'outcome',
      head: say('ledger.outcome'),
      width: '8.5rem',
      sort: 'outcome',
      cell: (row) => <Outcome of={row.given} refused={row.refused} />,
    },
    { key: 'findings', head: say('ledger.findings'), width: '5.5rem', number: true, cell: (row) => row.findings || '' },
    {
      key: 'seconds',
      head: say('ledger.time'),
      width: '5.5rem',
      number: true,
      sort: 'seconds',
      cell: (row) => (row.seconds ? (row.seconds / 60).toFixed(1) : ''),
    },
    { key: 'steward', head: say('ledger.steward'), width: 'minmax(6rem, 1fr)', cell: (row) => person(row.steward) },
  ];
}
