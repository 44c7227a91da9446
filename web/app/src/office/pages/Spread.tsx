import { byName, Pick } from '../parts/Pick.tsx';
import '../waits.css';
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from 'react';
import type { Schemas } from '../../shared/api.ts';
import { type Named, useKind, useOrganisms } from '../data.ts';
import { JobLine } from '../parts/JobLine.tsx';
import { resultOf } from '../parts/KeptPlans.tsx';
import { overlap } from '../parts/overlap.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { useJob } from '../parts/useJob.ts';
import { Wide } from '../parts/Wide.tsx';
import { organismsOf, outlineOf } from '../waters.ts';
import { say, type Word } from '../words.ts';

type Report = Schemas['SpreadReport'];
type Course = 'without' | 'with';

/** Years of an organism: asked as a long computation that a reload finds again, then shown year by year. */
export default function Spread() {
  const waters = useKind('water');
  const plans = useKind('plan');
  const { job, running, start, cancel, problem } = useJob('spread');
  const organisms = useMemo(() => organismsOf(waters.data ?? []), [waters.data]);
  if (!waters.data) return <Reading />;
  const report = job?.state === 'done' ? (job.result as unknown as Report) : undefined;
  return (
    <>
      <h1>{say('nav.spread')}</h1>
      <p className="lead">{say('spread.lead')}</p>
      {organisms.length === 0 ? (
        <p>{say('spread.none')}</p>
      ) : (
        <Ask
          organisms={organisms}
          plans={(plans.data ?? []).filter((p) => resultOf(p).shifts?.length)}
          running={running}
          start={(input) => void start(input)}
        />
      )}
      {problem ? <Trouble error={problem} /> : null}
      <JobLine job={job} cancel={() => void cancel()} />
      {report ? <Answer report={report} waters={waters.data} /> : null}
    </>
  );
}

function Ask({
  organisms,
  plans,
  running,
  start,
}: {
  organisms: string[];
  plans: Named<'plan'>[];
  running: boolean;
  start: (input: unknown) => void;
}) {
  const { name } = useOrganisms();
  const send = (form: FormData) =>
    start({
      organism: String(form.get('organism')),
      plan: String(form.get('plan')),
      years: Number(form.get('years')),
      runs: Number(form.get('runs')),
      compliance: Number(form.get('compliance')),
      unlookedClear: form.get('clear') === 'on',
      seed: 1,
    });
  return (
    <form
      className="filters"
      onSubmit={(event) => {
        event.preventDefault();
        send(new FormData(event.currentTarget));
      }}
    >
      <Pick
        word={say('spread.organism')}
        name="organism"
        options={byName(organisms.map((id) => ({ id, name: name(id) })))}
      />
      <Pick
        word={say('spread.plan')}
        name="plan"
        options={plans.map((p) => [p.id, p.name])}
        any={say('spread.worked')}
      />
      <label>
        {say('spread.years')}
        <input name="years" type="number" min="1" max="50" defaultValue="10" />
      </label>
      <Pick
        word={say('spread.runs')}
        name="runs"
        first={2000}
        options={[500, 2000, 10000].map((n) => [String(n), n])}
      />
      <Pick
        word={say('spread.compliance')}
        name="compliance"
        first={1}
        options={[0.5, 0.75, 1].map((n) => [String(n), percent(n)])}
      />
      <label className="tick">
        <input name="clear" type="checkbox" /> {say('spread.clear')}
      </label>
      <button type="submit" disabled={running}>
        {say('spread.start')}
      </button>
    </form>
  );
}

const percent = (x: number) => `${(100 * x).toFixed(0)} %`;

function Answer({ report, waters }: { report: Report; waters: Named<'water'>[] }) {
  const { name } = useOrganisms();
  const years = report.years ?? [];
  const [year, setYear] = useState(years.length);
  const [course, setCourse] = useState<Course>('without');
  useEffect(() => setYear(years.length), [years.length]);
  const at = Math.min(Math.max(1, year), years.length);
  return (
    <>
      <h2>
        {name(report.organism)}: {say('spread.year', { n: at })}
      </h2>
      <p>{report.sentence}</p>
      <ul>
        {(report.warnings ?? []).map((text) => (
          <li key={text}>
            <b>{text}</b>
          </li>
        ))}
      </ul>
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <button type="button" disabled={at <= 1} onClick={() => setYear(at - 1)}>
          {say('spread.back')}
        </button>
        <label>
          {say('spread.pick')}
          <input
            type="range"
            min="1"
            max={years.length}
            value={at}
            aria-valuetext={say('spread.year', { n: at })}
            onChange={(event) => setYear(Number(event.target.value))}
          />
        </label>
        <button type="button" disabled={at >= years.length} onClick={() => setYear(at + 1)}>
          {say('spread.on')}
        </button>
        <label>
          {say('spread.which')}
          <select value={course} onChange={(event) => setCourse(event.target.value as Course)}>
            <option value="without">{say('spread.without')}</option>
            <option value="with">
              {say('spread.with')}: {report.planName}
            </option>
          </select>
        </label>
      </form>
      <Chart report={report} waters={waters} year={at} course={course} />
      <Curve report={report} year={at} />
      <Waters report={report} year={at} />
      <Cases report={report} />
      <details>
        <summary>{say('spread.mind')}</summary>
        <p>
          {say('spread.half', {
            alpha: String(report.alpha),
            c: String(report.c),
            doubt: report.doubt,
            n: Math.round(report.halfChance),
          })}
        </p>
        <ul>
          {(report.assumed ?? []).map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      </details>
    </>
  );
}

/** Shores tinted by chance, each with its number: the tint repeats what the number says. */
function Chart({
  report,
  waters,
  year,
  course,
}: {
  report: Report;
  waters: Named<'water'>[];
  year: number;
  course: Course;
}) {
  // The surest first: where there is not room for every name, they are the ones to have it.
  const sure = (w: NonNullable<Report['waters']>[number]) => (w.start === 'clear' ? (w[course]?.at(-1) ?? 0) : 2);
  const rows = (report.waters ?? []).filter((w) => w.start !== 'outside').sort((a, b) => sure(b) - sure(a));
  const drawn = useRef<SVGSVGElement>(null);
  useLayoutEffect(() => {
    if (drawn.current) makeRoom(drawn.current);
  });
  const outlines = new Map(waters.map((w) => [w.id, outlineOf(w.body)]));
  if (rows.length === 0) return null;
  const points = rows.flatMap((w) => [[w.lon, w.lat] as const, ...(outlines.get(w.id)?.[0] ?? [])]);
  const west = Math.min(...points.map((p) => p[0]));
  const east = Math.max(...points.map((p) => p[0]));
  const south = Math.min(...points.map((p) => p[1]));
  const north = Math.max(...points.map((p) => p[1]));
  const squeeze = Math.cos((((north + south) / 2) * Math.PI) / 180);
  const width = 800;
  const scale = (width - 60) / Math.max((east - west) * squeeze, 1e-6);
  const height = Math.min(900, (north - south) * scale + 50);
  const at = ([lon, lat]: readonly [number, number]) =>
    `${(30 + (lon - west) * squeeze * scale).toFixed(1)} ${(25 + (north - lat) * scale).toFixed(1)}`;
  return (
    <section aria-labelledby="chart">
      <h3 id="chart">{say('spread.map')}</h3>
      <Wide label={say('spread.map')}>
        <svg
          ref={drawn}
          viewBox={`0 0 ${width} ${height}`}
          width={width}
          height={height}
          role="img"
          aria-label={say('spread.mapLabel', { n: year })}
          className="lanes"
        >
          {rows.map((w) => {
            const chance = w[course]?.[year - 1] ?? 0;
            const ring = outlines.get(w.id)?.[0];
            const [x, y] = at([w.lon, w.lat]).split(' ');
            const style = { fill: 'var(--ink)', fillOpacity: w.start === 'clear' ? 0.75 * chance : 1 };
            return (
              <g key={w.id}>
                {ring && ring.length > 3 ? (
                  <path d={`M${ring.map(at).join('L')}Z`} style={style} className="shore" />
                ) : (
                  <circle cx={x} cy={y} r="7" style={style} className="shore" />
                )}
                <text x={x} y={y} className="halo">
                  {w.name} {w.start === 'clear' ? percent(chance) : ''}
                </text>
              </g>
            );
          })}
        </svg>
      </Wide>
    </section>
  );
}

/** Where a name may stand beside its water, the best first: below, above, to the right, to the left. */
const sides = [
  { anchor: 'middle', dx: 0, dy: 16 },
  { anchor: 'middle', dx: 0, dy: -10 },
  { anchor: 'start', dx: 11, dy: 4 },
  { anchor: 'end', dx: -11, dy: 4 },
] as const;

/**
 * Moves each name to a side where it lies on no other and within the drawing; one without room anywhere is left out, and the
 * table below the map has it. A name is as wide as the reader's browser draws it, so that it is measured, not reckoned.
 */
function makeRoom(svg: SVGSVGElement) {
  const { width, height } = svg.viewBox.baseVal;
  const taken: DOMRect[] = [];
  for (const name of svg.querySelectorAll('text')) {
    const fits = sides.some(({ anchor, dx, dy }) => {
      name.style.textAnchor = anchor;
      name.setAttribute('dx', String(dx));
      name.setAttribute('dy', String(dy));
      const box = name.getBBox();
      const free =
        box.x >= 0 &&
        box.x + box.width <= width &&
        box.y >= 0 &&
        box.y + box.height <= height &&
        !taken.some((t) => overlap(t, box));
      if (free) taken.push(box);
      return free;
    });
    name.style.visibility = fits ? 'visible' : 'hidden';
  }
}

/** Means as lines, whole without and broken with; what 95 % of runs stay within as bands. */
function Curve({ report, year }: { report: Report; year: number }) {
  const years = report.years ?? [];
  const top = Math.max(1, ...years.map((y) => y.range.hi));
  const x = (k: number) => 40 + (k / Math.max(1, years.length)) * 620;
  const y = (n: number) => 180 - (n / top) * 160;
  const line = (of: Course) => `M${x(0)} ${y(0)}${years.map((v, k) => `L${x(k + 1)} ${y(v[of].mid)}`).join('')}`;
  const band = (of: 'range' | 'rangeWith') =>
    `M${x(0)} ${y(0)}${years.map((v, k) => `L${x(k + 1)} ${y(v[of].hi)}`).join('')}${[...years]
      .map((v, k) => `L${x(k + 1)} ${y(v[of].lo)}`)
      .reverse()
      .join('')}Z`;
  const last = years[years.length - 1];
  const text = years.map((v) => `${v.year}: ${v.without.mid.toFixed(1)} / ${v.with.mid.toFixed(1)}`).join(', ');
  return (
    <section aria-labelledby="curve">
      <h3 id="curve">{say('spread.curve')}</h3>
      <Wide label={say('spread.curve')}>
        <svg
          viewBox="0 0 800 205"
          width="800"
          height="205"
          role="img"
          aria-label={say('spread.curveLabel', { text })}
          className="lanes broad"
        >
          <path d={band('range')} className="band" />
          <path d={band('rangeWith')} className="band" />
          <path d={line('without')} className="curve" />
          <path d={line('with')} className="curve with" />
          <path d={`M${x(year)} 15 V180`} className="rule" />
          {last ? (
            <>
              <text x={x(years.length) + 6} y={y(last.without.mid)}>
                {say('spread.without')}
              </text>
              <text x={x(years.length) + 6} y={y(last.with.mid) + 12}>
                {say('spread.with')}
              </text>
            </>
          ) : null}
          <text x="0" y={y(top) + 4}>
            {top.toFixed(0)}
          </text>
          {years.map((v, k) => (
            <text key={v.year} x={x(k + 1)} y="198" textAnchor="middle">
              {v.year}
            </text>
          ))}
        </svg>
      </Wide>
      <Years report={report} />
    </section>
  );
}

function Years({ report }: { report: Report }) {
  return (
    <>
      <Table
        label={say('spread.curve')}
        rows={report.years ?? []}
        id={(v) => String(v.year)}
        parts={[
          { head: say('spread.years'), cell: (v) => v.year },
          { head: say('spread.without'), cell: (v) => <Mid of={v.without} range={v.range} /> },
          { head: say('spread.with'), cell: (v) => <Mid of={v.with} range={v.rangeWith} /> },
          { head: say('spread.fewer'), cell: (v) => spared(v.spared) },
          { head: `${say('spread.fewer')}: ${say('spread.range')}`, cell: (v) => span(v.rangeSpared) },
        ]}
      />
      {report.sharper > 0 ? <p>{say('spread.sharper', { n: report.sharper.toFixed(1) })}</p> : null}
    </>
  );
}

const span = (i: { lo: number; hi: number }) => `${i.lo.toFixed(0)}–${i.hi.toFixed(0)}`;

/** Waters that stay clear, with the error of the runs. */
const spared = (of: { mid: number; hi: number }) => `${of.mid.toFixed(2)} ± ${(of.hi - of.mid).toFixed(2)}`;

/** A mean, and what most runs lie within. */
function Mid({ of, range }: { of: { mid: number }; range: { lo: number; hi: number } }) {
  return (
    <>
      {of.mid.toFixed(2)} <span className="when">{span(range)}</span>
    </>
  );
}

function Waters({ report, year }: { report: Report; year: number }) {
  /** A water that is not clear at the start has no chance of its own. */
  const chance = (w: { start: string }, byYear: readonly number[] | null | undefined) =>
    w.start === 'clear' ? percent(byYear?.[year - 1] ?? 0) : '';
  return (
    <section aria-labelledby="waters">
      <h3 id="waters">{say('spread.chance', { n: year })}</h3>
      <Table
        label={say('spread.water')}
        rows={report.waters ?? []}
        id={(w) => w.id}
        parts={[
          {
            head: say('spread.water'),
            cell: (w) => (
              <>
                {w.name} {w.start === 'clear' ? null : <span className="when">{say(`spread.${w.start}` as Word)}</span>}
              </>
            ),
          },
          { head: say('spread.risky'), n: true, cell: (w) => w.risky.toFixed(1) },
          { head: say('spread.stopped'), n: true, cell: (w) => percent(w.stopped) },
          { head: say('spread.without'), n: true, cell: (w) => chance(w, w.without) },
          { head: say('spread.with'), n: true, cell: (w) => chance(w, w.with) },
        ]}
      />
    </section>
  );
}

function Cases({ report }: { report: Report }) {
  return (
    <section aria-labelledby="cases">
      <h3 id="cases">{say('spread.cases')}</h3>
      <Table
        label={say('spread.cases')}
        rows={report.cases ?? []}
        id={(c) => c.what + c.compliance}
        parts={[
          { head: say('spread.case'), cell: (c) => c.what },
          { head: 'α', n: true, cell: (c) => c.alpha.toPrecision(2) },
          { head: 'c', n: true, cell: (c) => c.c },
          { head: say('spread.compliance'), n: true, cell: (c) => percent(c.compliance) },
          { head: say('spread.without'), n: true, cell: (c) => c.without.mid.toFixed(2) },
          { head: say('spread.with'), n: true, cell: (c) => c.with.mid.toFixed(2) },
          { head: say('spread.fewer'), n: true, cell: (c) => spared(c.spared) },
        ]}
      />
    </section>
  );
}
