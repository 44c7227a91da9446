import { keepPreviousData, useInfiniteQuery } from '@tanstack/react-query';
import { useCallback } from 'react';
import { Link, useSearch } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { useMe } from '../data.ts';
import { LedgerFilters, names } from '../parts/LedgerFilters.tsx';
import { LongTable } from '../parts/LongTable.tsx';
import { filterQuery, useColumns, usualSort } from '../parts/ledger.tsx';
import { useFilters } from '../parts/query.ts';
import { InTurn, Reading, Standing, Trouble } from '../parts/State.tsx';
import { Views } from '../parts/Views.tsx';
import { say } from '../words.ts';

/** Every craft met, however many: filtered and sorted by the server, read page by page as one scrolls. */
export default function Ledger() {
  const me = useMe();
  const [filters, set] = useFilters(names);
  const search = useSearch();
  const read = useInfiniteQuery({
    queryKey: ['encounters', filters],
    initialPageParam: '',
    placeholderData: keepPreviousData,
    getNextPageParam: (page: Schemas['PageEncounterRow']) => page.next || undefined,
    queryFn: ({ pageParam, signal }) =>
      answer(
        api.GET('/api/encounters', {
          signal,
          params: {
            query: {
              ...filterQuery(filters),
              limit: 200,
              sort: filters.sort ?? usualSort,
              after: pageParam || undefined,
            },
          },
        }),
      ),
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
      <InTurn>
        <Views page="encounters" />
        <LedgerFilters filters={filters} set={set} />
        <p className="count">
          <Standing anew={read.isPlaceholderData}>
            {read.isPending
              ? say('state.reading')
              : say(hasNextPage ? 'ledger.count' : 'ledger.end', { n: rows.length })}
          </Standing>{' '}
          <Link href={search ? `/ledger/print?${search}` : '/ledger/print'}>{say('print.whole')}</Link>
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
            sort={filters.sort ?? usualSort}
            onSort={(sort) => set({ sort })}
            more={more}
            printed={say('print.inSightWhole')}
          />
        )}
      </InTurn>
    </>
  );
}
