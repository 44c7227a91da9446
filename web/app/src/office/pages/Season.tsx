import { keepPreviousData, useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { useNames } from '../data.ts';
import { limits, share, value } from '../figures.ts';
import { Bar } from '../parts/Bar.tsx';
import { Said } from '../parts/Correct.tsx';
import { Figures, Value } from '../parts/Figures.tsx';
import { JobLine } from '../parts/JobLine.tsx';
import { PickDay, PickLaunch } from '../parts/Pick.tsx';
import { useFilters } from '../parts/query.ts';
import { InTurn, Reading, Standing, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { useJob } from '../parts/useJob.ts';
import { say, type Word } from '../words.ts';

type Figure = Schemas['Figure'];

const names = ['from', 'to', 'launch'] as const;

/** The season so far: every figure with its limits, its denominator, how it is computed, and the records behind it. */
export default function Season() {
  const [filters, set] = useFilters(names);
  const read = useQuery({
    queryKey: ['season', filters],
    placeholderData: keepPreviousData,
    queryFn: () => answer(api.GET('/api/season', { params: { query: filters } })),
  });
  return (
    <>
      <h1>{say('season.title')}</h1>
      <p className="lead">{say('season.lead')}</p>
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <PickDay word={say('ledger.since')} value={filters.from} set={(from) => set({ from })} />
        <PickDay word={say('ledger.until')} value={filters.to} set={(to) => set({ to })} />
        <PickLaunch value={filters.launch} set={(launch) => set({ launch })} any={say('ledger.any')} />
      </form>
      <InTurn>
        {read.isPending ? <Reading /> : null}
        {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
        {read.data ? <Told season={read.data} anew={read.isPlaceholderData} /> : null}
        <Book from={filters.from} to={filters.to} launch={filters.launch} />
      </InTurn>
    </>
  );
}

function Told({ season, anew }: { season: Schemas['Season']; anew: boolean }) {
  const launch = useNames('launch');
  const span = { from: season.from, to: season.to };
  return (
    <>
      <h2>{say('season.figures')}</h2>
      <p className="count">
        <Standing anew={anew}>
          {season.query.launch
            ? say('season.at', { ...span, launch: launch(season.query.launch) })
            : say('season.span', span)}
        </Standing>
      </p>
      <Figures label={say('season.figures')} of={season.figures} />
      {season.tables.map((t) => (
        <Split key={t.by} table={t} />
      ))}
      <Doubts of={season.doubts} />
    </>
  );
}

/** One table of the season. The first figure that has limits is drawn, the others are told. */
function Split({ table }: { table: Schemas['Table'] }) {
  const heads = table.rows[0]?.figures ?? [];
  const drawn = heads.find((f) => f.interval && share(f))?.id;
  const top = Math.max(
    ...table.rows.flatMap((r) => r.figures.filter((f) => f.id === drawn && f.known).map((f) => f.interval?.hi ?? 0)),
    0.01,
  );
  const cell = (row: Schemas['Row'], f: Figure | undefined) =>
    f ? (
      <>
        <Value of={f} what={`${row.name || row.key}, ${f.label}`} />
        {f.id === drawn && f.known && f.interval ? (
          <Bar
            lo={f.interval.lo}
            mid={f.value}
            hi={f.interval.hi}
            top={top}
            words={`${f.label}: ${value(f)} (${limits(f)})`}
          />
        ) : null}
      </>
    ) : null;
  return (
    <details>
      <summary>
        <b>{table.label}</b>
      </summary>
      <Table
        label={table.label}
        rows={table.rows}
        id={(r) => r.key}
        parts={[
          {
            head: table.label,
            cell: (r) =>
              table.by === 'launch' ? <Link href={`/ledger?launch=${r.key}`}>{r.name}</Link> : r.name || r.key,
          },
          ...heads.map((h) => ({
            head: h.label,
            n: true,
            cell: (r: Schemas['Row']) =>
              cell(
                r,
                r.figures.find((f) => f.id === h.id),
              ),
          })),
        ]}
      />
    </details>
  );
}

/** Records that look odd, each with what makes it so; nobody is accused. */
function Doubts({ of }: { of: Schemas['Doubt'][] }) {
  return (
    <section>
      <h2>{say('season.doubts')}</h2>
      <p>{say('season.doubtsLead')}</p>
      {of.map((d) => (
        <details key={d.id}>
          <summary>
            <b>{d.count}</b> {d.label}
          </summary>
          <p>{d.how}</p>
          <ul>
            {d.evidence.slice(0, 50).map((e) => (
              <li key={e.record + e.words}>
                <Link href={`/ledger/${e.record}`}>{say('season.record')}</Link> {e.words}
              </li>
            ))}
          </ul>
        </details>
      ))}
    </section>
  );
}

/** The languages that the server makes reports in. */
const languages = ['en', 'es', 'fr'] as const;

/** The season book as a document, and the records as open data. */
function Book(props: { from?: string; to?: string; launch?: string }) {
  const { job, running, start, cancel, problem } = useJob('report');
  const [language, setLanguage] = useState<(typeof languages)[number]>('en');
  const editions = ['season', 'board', ...(props.launch ? ['launch'] : [])];
  return (
    <section>
      <h2>{say('season.book')}</h2>
      <p>{say('season.bookLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <p>
        <label className="field choice">
          {say('season.language')}
          <select value={language} onChange={(event) => setLanguage(event.target.value as typeof language)}>
            {languages.map((l) => (
              <option key={l} value={l}>
                {say(`season.language.${l}`)}
              </option>
            ))}
          </select>
          {language === 'en' ? null : <small>{say('season.languageHint')}</small>}
        </label>
      </p>
      <p className="moves">
        {editions.map((edition) => (
          <button
            key={edition}
            type="button"
            disabled={running}
            onClick={() =>
              void start({
                edition,
                language,
                from: props.from,
                to: props.to,
                ...(edition === 'launch' && { launch: props.launch }),
              })
            }
          >
            {say(`season.edition.${edition}` as Word)}
          </button>
        ))}
      </p>
      <JobLine job={job} cancel={() => void cancel()} />
      {job?.state === 'done' ? (
        <ul>
          {(['pdf', 'html', 'numbers'] as const).map((form) => (
            <li key={form}>
              <a href={`/api/reports/${job.id}?form=${form}`}>{say(`season.form.${form}`)}</a>
            </li>
          ))}
        </ul>
      ) : null}
    </section>
  );
}
