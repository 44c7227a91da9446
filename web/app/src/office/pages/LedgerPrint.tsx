import { useQuery } from '@tanstack/react-query';
import { Link, useSearch } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useDoubts, useMe, useNames, useProgramme } from '../data.ts';
import { type Filters, names } from '../parts/LedgerFilters.tsx';
import { filterQuery, useColumns, usualSort } from '../parts/ledger.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { plain } from '../records.ts';
import { say } from '../words.ts';

/** The most rows that are printed: some fifty sheets. Whoever wants more is better served by a file. */
const mostRows = 2000;
const pageRows = 1000;

/** The list as a plain table for paper: every row that the filter lets through, what the filter is, and when it was read. */
export default function LedgerPrint() {
  const [filters] = useFilters(names);
  const search = useSearch();
  const programme = useProgramme();
  const columns = useColumns();
  const words = useFilterWords(filters, columns);
  const read = useQuery({
    queryKey: ['encounters to print', filters],
    queryFn: ({ signal }) => everyRow(filters, signal),
  });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const { rows, left } = read.data;
  return (
    <div className="sheet">
      <p className="crumb">
        <Link href={search ? `/ledger?${search}` : '/ledger'}>{say('boat.back')}</Link>
      </p>
      <h1>{say('ledger.title')}</h1>
      <p className="lead">
        {[programme.data?.name, say('print.at', { at: moment(new Date(read.dataUpdatedAt).toISOString()) })]
          .filter(Boolean)
          .join('. ')}
      </p>
      <dl className="facts">
        {words.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      <p className="count" role="status">
        {left > 0
          ? say('print.left', { n: rows.length, all: rows.length + left, left })
          : say('print.all', { n: rows.length })}
      </p>
      {left > 0 ? <Elsewhere /> : null}
      <p>
        <button type="button" className="main" disabled={rows.length === 0} onClick={() => window.print()}>
          {say('print.act')}
        </button>
      </p>
      <Table
        label={say('ledger.title')}
        rows={rows}
        id={(row) => row.subject}
        parts={columns.map((c) => ({ head: c.head, cell: c.cell, ...(c.number && { n: true }) }))}
      />
    </div>
  );
}

/** For whoever may take records away: the table that has no end. */
function Elsewhere() {
  const me = useMe();
  if (me.data?.role !== 'manager' && me.data?.role !== 'biologist') return null;
  return (
    <p>
      <a href="/api/export/inspections?edition=spreadsheet" download>
        {say('print.csv')}
      </a>
    </p>
  );
}

/** Reads the rows of a filter up to the most that are printed, and how many it leaves out. */
async function everyRow(filters: Filters, signal: AbortSignal) {
  const filter = filterQuery(filters);
  const rows: Schemas['EncounterRow'][] = [];
  let after: string | undefined;
  do {
    const page = await answer(
      api.GET('/api/encounters', {
        signal,
        params: { query: { ...filter, sort: filters.sort ?? usualSort, limit: pageRows, after } },
      }),
    );
    rows.push(...(page.items ?? []));
    after = page.next || undefined;
  } while (after && rows.length < mostRows);
  if (!after) return { rows, left: 0 };
  const all = await answer(api.GET('/api/encounters/count', { signal, params: { query: filter } }));
  return { rows, left: Math.max(0, all.encounters - rows.length) };
}

/** A filter in words, with the order of the rows: what the sheet says of itself at its head. */
function useFilterWords(f: Filters, columns: ReturnType<typeof useColumns>): [string, string][] {
  const launch = useNames('launch');
  const water = useNames('water');
  const person = useNames('person');
  const doubts = useDoubts().data;
  const given: [string, string | undefined][] = [
    [say('ledger.since'), f.from],
    [say('ledger.until'), f.to],
    [say('ledger.launch'), launch(f.launch)],
    [say('ledger.from'), water(f.lastWater)],
    [say('ledger.earlier'), water(f.earlierWater)],
    [say('ledger.next'), water(f.nextWater)],
    [say('ledger.craft'), plain(f.class)],
    [say('ledger.outcome'), plain(f.outcome)],
    [say('ledger.steward'), person(f.steward)],
    [say('ledger.refused'), f.refused],
    [say('ledger.found'), f.found],
    [say('ledger.doubt'), f.doubt && (doubts?.find((d) => d.id === f.doubt)?.label ?? say('ledger.doubtAny'))],
    [say('boat.mark'), f.mark && `${f.mark.slice(0, 6)}…`],
    [say('ledger.flagged'), f.flagged],
    [say('ledger.tests'), f.withTests],
  ];
  const said = given.filter((line): line is [string, string] => Boolean(line[1]));
  const sort = f.sort ?? usualSort;
  const by = columns.find((c) => c.sort === sort.replace('-', ''));
  return [
    ...(said.length > 0 ? said : [[say('print.filter'), say('print.noFilter')] as [string, string]]),
    [say('print.order'), say(sort.startsWith('-') ? 'print.falls' : 'print.rises', { column: by?.head ?? sort })],
  ];
}
