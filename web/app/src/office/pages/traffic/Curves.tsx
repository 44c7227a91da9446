import type { Schemas } from '../../../shared/api.ts';
import { say } from '../../words.ts';
import { Sized } from './parts.tsx';
import { amount, type Interval, ticks, times } from './traffic.ts';

type Day = Schemas['DayArrivals'];

const height = 260;
const edge = { left: 52, right: 14, top: 26, bottom: 30 };

interface Scale {
  x: (at: number) => number;
  y: (value: number) => number;
  marks: number[];
}

function scale(width: number, last: number, top: number): Scale {
  const marks = ticks(top);
  const most = marks.at(-1) ?? 1;
  return {
    x: (at) => edge.left + (at / (last || 1)) * (width - edge.left - edge.right),
    y: (value) => height - edge.bottom - (value / most) * (height - edge.top - edge.bottom),
    marks,
  };
}

/** Lines across the drawing with their values, and what they count. */
function Grid({ of, width, unit }: { of: Scale; width: number; unit: string }) {
  return (
    <>
      <text x="0" y="13">
        {unit}
      </text>
      {of.marks.map((m) => (
        <g key={m}>
          <path d={`M${edge.left} ${of.y(m)}H${width - edge.right}`} className="grid" />
          <text x={edge.left - 6} y={of.y(m) + 4} textAnchor="end">
            {amount(m)}
          </text>
        </g>
      ))}
    </>
  );
}

const curve = (points: number[], at: Scale) =>
  points.map((v, i) => `${i ? 'L' : 'M'}${at.x(i).toFixed(1)} ${at.y(v).toFixed(1)}`).join('');

const band = (points: Interval[], at: Scale) =>
  `${curve(
    points.map((p) => p.hi),
    at,
  )}${[...points.keys()]
    .reverse()
    .map((i) => `L${at.x(i).toFixed(1)} ${at.y(points[i]?.lo ?? 0).toFixed(1)}`)
    .join('')}Z`;

/** The mean of the days that pass. */
export function meanDay(days: Day[], free: boolean): Interval {
  const of = days.filter((d) => (d.type !== 'weekday') === free);
  const sum = (end: keyof Interval) => of.reduce((all, d) => all + d.craft[end], 0) / Math.max(1, of.length);
  return { lo: sum('lo'), mid: sum('mid'), hi: sum('hi') };
}

/** Craft an hour over the day, on a usual weekday and a usual free day, each with the band of its level. */
export function Hours({ weekday, free }: { weekday: Interval[]; free: Interval[] }) {
  const top = Math.max(...weekday.map((h) => h.hi), ...free.map((h) => h.hi));
  return (
    <Sized>
      {(width) => {
        const at = scale(width, 23, top);
        return (
          <svg className="chart" width={width} height={height} role="img" aria-label={say('arrivals.hoursLabel')}>
            <Grid of={at} width={width} unit={say('arrivals.perHour')} />
            {[0, 6, 12, 18, 23].map((h) => (
              <text key={h} x={at.x(h)} y={height - 8} textAnchor={h === 23 ? 'end' : 'middle'}>
                {h} h
              </text>
            ))}
            <path d={band(free, at)} className="band free" />
            <path d={band(weekday, at)} className="band" />
            <path
              d={curve(
                free.map((h) => h.mid),
                at,
              )}
              className="curve free"
            />
            <path
              d={curve(
                weekday.map((h) => h.mid),
                at,
              )}
              className="curve"
            />
          </svg>
        );
      }}
    </Sized>
  );
}

export const byHour = (shares: number[] | null, day: Interval) => (shares ?? []).map((s) => times(day, s));

/** Craft a day over the season with the band of its level; weekends are rings, holidays filled squares. */
export function Days({ days }: { days: Day[] }) {
  const top = Math.max(1, ...days.map((d) => d.craft.hi));
  return (
    <Sized>
      {(width) => {
        const at = scale(width, days.length - 1, top);
        const months = days.flatMap((d, i) => (d.day.endsWith('-01') ? [{ i, day: d.day }] : []));
        return (
          <svg className="chart" width={width} height={height} role="img" aria-label={say('arrivals.daysLabel')}>
            <Grid of={at} width={width} unit={say('arrivals.perDay')} />
            {months.map((m) => (
              <text key={m.day} x={at.x(m.i)} y={height - 8}>
                {new Date(`${m.day}T00:00:00Z`).toLocaleString('en', { month: 'short', timeZone: 'UTC' })}
              </text>
            ))}
            <path
              d={band(
                days.map((d) => d.craft),
                at,
              )}
              className="band"
            />
            <path
              d={curve(
                days.map((d) => d.craft.mid),
                at,
              )}
              className="curve"
              style={{ strokeWidth: 1.25 }}
            />
            {days.map((d, i) =>
              d.type === 'weekend' ? (
                <circle key={d.day} cx={at.x(i)} cy={at.y(d.craft.mid)} r="3" className="weekend" />
              ) : d.type === 'holiday' ? (
                <rect key={d.day} x={at.x(i) - 4} y={at.y(d.craft.mid) - 4} width="8" height="8" />
              ) : null,
            )}
          </svg>
        );
      }}
    </Sized>
  );
}

/** What the strokes of the hours mean. */
export function HoursKey() {
  return (
    <ul className="key">
      <li>
        <svg className="chart" width="40" height="12" aria-hidden="true">
          <path d="M0 6H40" className="curve" />
        </svg>
        {say('arrivals.weekday')}
      </li>
      <li>
        <svg className="chart" width="40" height="12" aria-hidden="true">
          <path d="M0 6H40" className="curve free" />
        </svg>
        {say('arrivals.free')}
      </li>
      <li>
        <svg className="chart" width="40" height="14" aria-hidden="true">
          <rect width="18" height="14" className="band" />
          <rect x="21" y="1" width="18" height="12" className="band free" />
        </svg>
        {say('arrivals.band')}
      </li>
    </ul>
  );
}

export function DaysKey() {
  return (
    <ul className="key">
      <li>
        <svg className="chart" width="14" height="14" aria-hidden="true">
          <circle cx="7" cy="7" r="4" className="weekend" />
        </svg>
        {say('arrivals.weekend')}
      </li>
      <li>
        <svg width="14" height="14" aria-hidden="true">
          <rect x="3" y="3" width="8" height="8" />
        </svg>
        {say('arrivals.holiday')}
      </li>
      <li>
        <svg className="chart" width="18" height="14" aria-hidden="true">
          <rect width="18" height="14" className="band" />
        </svg>
        {say('arrivals.band')}
      </li>
    </ul>
  );
}
