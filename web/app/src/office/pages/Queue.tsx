import '../waits.css';
import { useQuery } from '@tanstack/react-query';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { Pick, PickLaunch } from '../parts/Pick.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { Wide } from '../parts/Wide.tsx';
import { say, type Word } from '../words.ts';

type Report = Schemas['WaitReport'];
type Day = 'weekday' | 'weekend' | 'holiday';

const names = ['launch', 'day', 'times', 'stewards', 'target'] as const;
const days: Day[] = ['weekday', 'weekend', 'holiday'];

/** Waits at a launch by staffing: a day seen from the side, the 95 % line, and the table to choose a crew by. */
export default function Queue() {
  const [given, set] = useFilters(names);
  const day = (days.find((d) => d === given.day) ?? 'weekend') as Day;
  const read = useQuery({
    queryKey: ['waits', given],
    queryFn: () =>
      answer(
        api.GET('/api/waits', {
          params: {
            query: {
              day,
              times: Number(given.times ?? 1),
              stewards: [Number(given.stewards ?? 1)],
              target: Number(given.target ?? 10),
              ...(given.launch && { launch: given.launch }),
            },
          },
        }),
      ),
  });
  const pick = (name: 'times' | 'stewards' | 'target', of: number[], usual: number) => (
    <Pick
      word={say(`queue.${name}`)}
      value={given[name] ?? String(usual)}
      set={(value) => set({ [name]: value })}
      options={of.map((n) => [String(n), n])}
    />
  );
  return (
    <>
      <h1>{say('nav.queue')}</h1>
      <p className="lead">{say('queue.lead')}</p>
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <PickLaunch value={given.launch} set={(launch) => set({ launch })} any={say('queue.busiest')} />
        <Pick
          word={say('queue.day')}
          value={day}
          set={(next) => set({ day: next })}
          options={days.map((d) => [d, say(`queue.${d}` as Word)])}
        />
        {pick('times', [1, 1.5, 2, 3, 5], 1)}
        {pick('stewards', [1, 2, 3, 4, 5, 6], 1)}
        {pick('target', [5, 10, 15, 30], 10)}
      </form>
      {read.isPending ? <Reading /> : null}
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {read.data ? <Answer report={read.data} /> : null}
    </>
  );
}

const minutes = (n: number) => say('queue.min', { n: n < 9.95 ? n.toFixed(1) : n.toFixed(0) });
const percent = (x: number) => `${(100 * x).toFixed(0)} %`;

function Answer({ report }: { report: Report }) {
  return (
    <>
      <h2>{report.launch.name}</h2>
      <p>{report.sentence}</p>
      <Crews report={report} />
      <Lanes report={report} />
      <Line report={report} />
      <Hours report={report} />
      <details>
        <summary>{say('queue.taken')}</summary>
        <ul>
          {[...(report.assumed ?? []), ...(report.warnings ?? [])].map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      </details>
    </>
  );
}

function Crews({ report }: { report: Report }) {
  return (
    <section aria-labelledby="crews">
      <h2 id="crews">{say('queue.crews')}</h2>
      <Table
        label={say('queue.crews')}
        rows={report.staffings ?? []}
        id={(s) => String(s.stewards)}
        parts={[
          {
            head: say('queue.crew'),
            cell: (s) => (
              <>
                {s.stewards} {s.keeps ? <span className="when">{say('queue.keeps')}</span> : null}
              </>
            ),
          },
          {
            head: say('queue.busy'),
            cell: (s) => (
              <>
                {percent(s.utilisation)} {s.grows ? <b>{say('queue.grows')}</b> : null}
              </>
            ),
          },
          { head: say('queue.mean'), n: true, cell: (s) => minutes(s.waitMin.mid) },
          { head: say('queue.p95'), n: true, cell: (s) => minutes(s.p95Min) },
          {
            head: say('queue.late', { n: report.targetMin }),
            n: true,
            cell: (s) => (
              <>
                {percent(s.late.mid)}{' '}
                <span className="when">
                  {percent(s.late.lo)}–{percent(s.late.hi)}
                </span>
              </>
            ),
          },
          { head: say('queue.overtime'), n: true, cell: (s) => minutes(s.overtimeMin) },
        ]}
      />
      {report.why ? <p>{report.why}</p> : null}
    </section>
  );
}

const lane = 26;

/** The day from the side: the waiting above, one lane for each steward, looks as bars with the craft as a dot at their begin. */
function Lanes({ report }: { report: Report }) {
  const craft = report.shown.sample ?? [];
  const from = report.rates?.[0]?.hour ?? 6;
  const to = Math.max(from + (report.rates?.length ?? 14), ...craft.map((c) => c.gone));
  const lanes = Math.max(1, ...(report.stewards ?? []));
  const x = (t: number) => 60 + ((t - from) / (to - from)) * 720;
  const longest = craft.reduce((most, c) => Math.max(most, c.began ? 60 * (c.began - c.came) : 0), 0);
  const height = 44 + lanes * lane + 22;
  const ticks = Array.from({ length: Math.floor(to - from) + 1 }, (_, i) => from + i);
  return (
    <section aria-labelledby="lanes">
      <h2 id="lanes">{say('queue.lanes')}</h2>
      <p>{say('queue.lanesLead', { n: craft.length })}</p>
      <Wide label={say('queue.lanes')}>
        <svg
          viewBox={`0 0 800 ${height}`}
          width="800"
          height={height}
          role="img"
          aria-label={say('queue.lanesLabel', { lanes, n: craft.length, min: Math.round(longest) })}
          className="lanes broad"
        >
          <text x="0" y="22">
            {say('queue.waiting')}
          </text>
          {Array.from({ length: lanes }, (_, k) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: lanes have no other name
            <g key={k}>
              <text x="0" y={44 + k * lane + 16}>
                {say('queue.lane', { n: k + 1 })}
              </text>
              <path d={`M60 ${44 + k * lane + 24} H780`} className="rule" />
            </g>
          ))}
          {craft.map((c) =>
            c.lane ? (
              <g key={c.came}>
                <path d={`M${x(c.came)} 16 H${x(c.began ?? c.came)}`} className="wait" />
                <rect
                  x={x(c.began ?? 0)}
                  y={44 + (c.lane - 1) * lane + 4}
                  width={Math.max(1.5, x(c.ended ?? 0) - x(c.began ?? 0) - 0.5)}
                  height="14"
                  className={c.fate === 'passed' ? 'look' : 'look failed'}
                />
                <circle cx={x(c.came)} cy="16" r="2.5" />
              </g>
            ) : (
              <rect key={c.came} x={x(c.came) - 3} y="28" width="6" height="6" className="gone" />
            ),
          )}
          {ticks.map((t) => (
            <text key={t} x={x(t)} y={height - 4} textAnchor="middle">
              {String(t % 24).padStart(2, '0')}
            </text>
          ))}
        </svg>
      </Wide>
    </section>
  );
}

/** The wait that 95 % do not exceed, hour by hour, over the goal. */
function Line({ report }: { report: Report }) {
  const hours = report.shown.hours ?? [];
  const top = Math.max(report.targetMin * 1.2, ...hours.map((h) => h.p95Min));
  const x = (k: number) => 60 + ((k + 0.5) / Math.max(1, hours.length)) * 720;
  const y = (min: number) => 120 - (min / top) * 105;
  const text = hours.map((h) => `${String(h.hour).padStart(2, '0')} ${h.p95Min.toFixed(0)} min`).join(', ');
  return (
    <section aria-labelledby="line">
      <h2 id="line">{say('queue.line')}</h2>
      <Wide label={say('queue.line')}>
        <svg
          viewBox="0 0 800 144"
          width="800"
          height="144"
          role="img"
          aria-label={say('queue.lineLabel', { text })}
          className="lanes broad"
        >
          <path d={`M60 ${y(report.targetMin)} H780`} className="goal" />
          <text x="780" y={y(report.targetMin) - 4} textAnchor="end">
            {say('queue.goal', { n: report.targetMin })}
          </text>
          <path d={`M${hours.map((h, k) => `${x(k)} ${y(h.p95Min)}`).join('L')}`} className="curve" />
          {hours.map((h, k) => (
            <g key={h.hour}>
              <circle cx={x(k)} cy={y(h.p95Min)} r="3.5" />
              <text x={x(k)} y="140" textAnchor="middle">
                {String(h.hour).padStart(2, '0')}
              </text>
            </g>
          ))}
        </svg>
      </Wide>
    </section>
  );
}

function Hours({ report }: { report: Report }) {
  return (
    <section aria-labelledby="hours">
      <h2 id="hours">{say('queue.hours')}</h2>
      <Table
        label={say('queue.hours')}
        rows={(report.shown.hours ?? []).map((h, k) => ({ ...h, k }))}
        id={(h) => String(h.hour)}
        parts={[
          { head: say('queue.hour'), cell: (h) => `${String(h.hour).padStart(2, '0')}:00` },
          { head: say('queue.craft'), n: true, cell: (h) => report.rates?.[h.k]?.arrivals.mid.toFixed(1) },
          { head: say('queue.few'), n: true, cell: (h) => report.smallest?.[h.k] ?? '' },
          { head: say('queue.shown'), n: true, cell: (h) => report.stewards?.[h.k] },
          { head: say('queue.mean'), n: true, cell: (h) => minutes(h.waitMin.mid) },
          { head: say('queue.p95'), n: true, cell: (h) => minutes(h.p95Min) },
        ]}
      />
    </section>
  );
}
