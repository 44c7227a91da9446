import { useMemo } from 'react';
import { Link } from 'wouter';
import type { Schemas } from '../../../shared/api.ts';
import { byName, Pick } from '../../parts/Pick.tsx';
import { useFilters } from '../../parts/query.ts';
import { Reading, Trouble } from '../../parts/State.tsx';
import { Table } from '../../parts/Table.tsx';
import { say } from '../../words.ts';
import { useArrivals, useFlows, useRecords } from './data.ts';
import { FlowKey, FlowMap } from './FlowMap.tsx';
import { How, Range, SubPages, Warnings } from './parts.tsx';
import { amount, certainty, percent, times, type Week, weeks } from './traffic.ts';

type Pair = Schemas['PairFlow'];
type WaterFlow = Schemas['WaterFlow'];

const names = ['top', 'water', 'week'] as const;
const tops = [10, 20, 40, 100, 200];

/** Who goes where: flows on a map, wide where they are many and broken where they are guesses, by week or for the season. */
export default function Flows() {
  const [{ top, water, week }, set] = useFilters(names);
  const most = tops.includes(Number(top)) ? Number(top) : 20;
  const read = useFlows(water ? 5000 : 200);
  const arrivals = useArrivals();
  const all = useMemo(() => weeks(arrivals.data?.days ?? [], arrivals.data?.total.mid ?? 0), [arrivals.data]);
  const at = week && all[Number(week) - 1] ? Number(week) : 0;
  const share = all[at - 1]?.share ?? 1;
  const shown = useMemo(
    () =>
      (read.data?.pairs ?? [])
        .filter((p) => !water || p.from === water || p.to === water)
        .slice(0, most)
        .map((p) => ({ ...p, model: p.model * share, passages: times(p.passages, share) })),
    [read.data, water, most, share],
  );
  // Weeks are drawn on one scale, that of the busiest, so that a busy week looks busy.
  const scale = at ? Math.max(...all.map((w) => w.share)) : 1;
  const largest = (Math.max(0, ...shown.map((p) => p.passages.mid)) * scale) / share;
  if (read.isPending || arrivals.isPending) return <Frame />;
  const error = read.error ?? arrivals.error;
  if (error) return <Frame error={error} again={() => void Promise.all([read.refetch(), arrivals.refetch()])} />;
  if (!read.data) return <Frame />;
  const flows = read.data;
  const waters = flows.waters ?? [];
  return (
    <>
      <SubPages />
      <h1>{say('flows.title')}</h1>
      <p className="lead">
        {say('flows.lead', {
          total: amount(flows.total),
          from: flows.from,
          to: flows.to,
          shown: shown.length,
          all: flows.all,
        })}
      </p>
      <Warnings of={flows.warnings} />
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <Pick
          word={say('flows.top')}
          value={String(most)}
          set={(top) => set({ top })}
          options={tops.map((n) => [String(n), n])}
        />
        <Pick
          word={say('flows.through')}
          value={water}
          set={(next) => set({ water: next })}
          options={byName(waters)}
          any={say('flows.allWaters')}
        />
      </form>
      <Weeks all={all} at={at} from={flows.from} to={flows.to} set={(n) => set({ week: n ? String(n) : '' })} />
      <FlowMap pairs={shown} waters={waters} largest={largest} />
      <FlowKey />
      {shown.length === 0 ? (
        <p>{say('flows.none')}</p>
      ) : (
        <Pairs pairs={shown} waters={waters} largest={largest} from={flows.from} to={flows.to} />
      )}
      <How card>
        {say('flows.howText')} {at ? say('flows.howWeek') : ''}
      </How>
      <EachWater waters={waters} />
    </>
  );
}

function Frame({ error, again }: { error?: Error; again?: () => void }) {
  return (
    <>
      <SubPages />
      <h1>{say('flows.title')}</h1>
      {error ? <Trouble error={error} {...(again && { again })} /> : <Reading />}
    </>
  );
}

/** Chooses a week by buttons or by a slider; nothing has to be dragged. */
function Weeks(props: { all: Week[]; at: number; from: string; to: string; set: (week: number) => void }) {
  const { all, at, set } = props;
  const week = all[at - 1];
  return (
    <fieldset className="weeks">
      <legend>{say('flows.when')}</legend>
      <button type="button" aria-pressed={at === 0} onClick={() => set(0)}>
        {say('flows.whole')}
      </button>
      <button type="button" disabled={at === 1} onClick={() => set(at === 0 ? all.length : at - 1)}>
        {say('flows.earlier')}
      </button>
      <button type="button" disabled={at === all.length} onClick={() => set(at + 1)}>
        {say('flows.later')}
      </button>
      <label>
        {say('flows.week')}
        <input
          type="range"
          min={1}
          max={all.length}
          value={at || 1}
          aria-valuetext={week ? `${week.from} – ${week.to}` : say('flows.whole')}
          onChange={(event) => set(Number(event.target.value))}
        />
      </label>
      <output>
        {week
          ? `${week.from} – ${week.to} (${percent(week.share)})`
          : `${say('flows.whole')}: ${say('traffic.season', { from: props.from, to: props.to })}`}
      </output>
    </fieldset>
  );
}

function Pairs(props: { pairs: Pair[]; waters: WaterFlow[]; largest: number; from: string; to: string }) {
  const name = new Map(props.waters.map((w) => [w.id, w.name]));
  const records = useRecords(props.from, props.to);
  const top = Math.max(...props.pairs.map((p) => p.passages.hi));
  return (
    <>
      <h2>{say('flows.table')}</h2>
      <Table
        label={say('flows.table')}
        rows={props.pairs}
        id={(p) => p.from + p.to}
        parts={[
          { head: say('flows.from'), cell: (p) => <Link href={`/waters/${p.from}`}>{name.get(p.from)}</Link> },
          { head: say('flows.to'), cell: (p) => <Link href={`/waters/${p.to}`}>{name.get(p.to)}</Link> },
          {
            head: say('flows.passages'),
            cell: (p) => <Range of={p.passages} top={top} what={say('flows.passages')} />,
          },
          { head: say('flows.certainty'), cell: (p) => say(`flows.${certainty(p.passages)}`).split(':')[0] },
          {
            head: say('flows.counted'),
            n: true,
            cell: (p) => (
              <Link
                href={records(p)}
                aria-label={`${amount(p.counted)}: ${say('flows.records', { water: name.get(p.from) ?? '' })}`}
              >
                {amount(p.counted)}
              </Link>
            ),
          },
          { head: say('flows.model'), n: true, cell: (p) => amount(p.model) },
          { head: say('flows.km'), n: true, cell: (p) => amount(p.km) },
        ]}
      />
    </>
  );
}

/** An amount, and what 95 % of the draws lie within where there are such. */
function Doubtful({ of, range }: { of: number; range: { lo: number; hi: number } | undefined }) {
  return (
    <>
      {amount(of)}{' '}
      {range ? (
        <span className="when">
          {amount(range.lo)}–{amount(range.hi)}
        </span>
      ) : null}
    </>
  );
}

function EachWater({ waters }: { waters: WaterFlow[] }) {
  const top = Math.max(0, ...waters.map((w) => w.back?.hi ?? 0));
  return (
    <details>
      <summary>{say('flows.waters')}</summary>
      <Table
        label={say('flows.waters')}
        rows={waters}
        id={(w) => w.id}
        parts={[
          {
            head: say('sources.name'),
            cell: (w) => (
              <>
                <Link href={`/waters/${w.id}`}>{w.name}</Link>
                {w.outside ? <span className="when">{say('flows.outside')}</span> : null}
              </>
            ),
          },
          { head: say('flows.into'), n: true, cell: (w) => <Doubtful of={w.into} range={w.intoRange} /> },
          { head: say('flows.out'), n: true, cell: (w) => <Doubtful of={w.out} range={w.outRange} /> },
          {
            head: say('flows.back'),
            cell: (w) => (w.back ? <Range of={w.back} top={top} what={say('flows.back')} /> : ''),
          },
          { head: say('flows.met'), n: true, cell: (w) => percent(w.met) },
        ]}
      />
      <How>{say('flows.howWaters')}</How>
    </details>
  );
}
