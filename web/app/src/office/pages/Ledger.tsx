import { keepPreviousData, useInfiniteQuery } from '@tanstack/react-query';
import { useCallback } from 'react';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { dayStart, moment } from '../clock.ts';
import { useMe, useNames } from '../data.ts';
import { type Filters, LedgerFilters, names } from '../parts/LedgerFilters.tsx';
import { type Column, LongTable } from '../parts/LongTable.tsx';
import { Outcome } from '../parts/Outcome.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Views } from '../parts/Views.tsx';
import { plain } from '../records.ts';
import { say } from '../words.ts';

type Row = Schemas['EncounterRow'];

/** Every craft met, however many: filtered and sorted by the server, read page by page as one scrolls. */
export default function Ledger() {
  const me = useMe();
  const [filters, set] = useFilters(names);
  const read = useInfiniteQuery({
    queryKey: ['encounters', filters],
    initialPageParam: '',
    placeholderData: keepPreviousData,
    getNextPageParam: (page: Schemas['PageEncounterRow']) => page.next || undefined,
    queryFn: ({ pageParam, signal }) =>
      answer(api.GET('/api/encounters', { signal, params: { query: query(filters, pageParam) } })),
  });
  const { fetchNextPage, hasNextPage, isFetchingNextPage } = read;
  const more = useCallback(() => {
    if (hasNextPage && !isFetchingNextPage) void fetchNextPage();
  }, [hasNextPage, isFetchingNextPage, fetchNextPage]);
  const columns = useColumns();
  const rows = read.data?.pages.flatMap((page) => page.items ?? []) ?? [];
  return (
    <>
      <h1>{say('ledger.title')}</h1>
      <p className="lead">{say('ledger.lead')}</p>
      {me.data?.role === 'manager' ? (
        <p>
          <Link href="/import">{say('import.title')}</Link>
        </p>
      ) : null}
      <Views page="encounters" />
      <LedgerFilters filters={filters} set={set} />
      <p className="count" role="status">
        {read.isPending ? say('state.reading') : say(hasNextPage ? 'ledger.count' : 'ledger.end', { n: rows.length })}
      </p>
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {read.isPending ? (
        <Reading />
      ) : (
        <LongTable
          label={say('ledger.title')}
          columns={columns}
          rows={rows}
          total={hasNextPage ? -1 : rows.length + 1}
          id={(row) => row.subject}
          open={(row) => `/ledger/${row.subject}`}
          sort={filters.sort ?? '-at'}
          onSort={(sort) => set({ sort })}
          more={more}
        />
      )}
    </>
  );
}

function query(f: Filters, after: string) {
  return {
    limit: 200,
    sort: f.sort ?? '-at',
    after: after || undefined,
    from: dayStart(f.from),
    to: dayStart(f.to, 1), // the last day is included
    launch: f.launch,
    lastWater: f.lastWater,
    nextWater: f.nextWater,
    mark: f.mark,
    steward: f.steward,
    outcome: f.outcome,
    class: f.class,
    refused: f.refused,
    flagged: f.flagged === 'yes' || undefined,
    withTests: f.withTests === 'yes' || undefined,
  };
}

function useColumns(): Column<Row>[] {
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
      cell: (row) =>
        row.refused ? <span className="outcome none">{say('ledger.refusedWord')}</span> : <Outcome of={row.given} />,
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
