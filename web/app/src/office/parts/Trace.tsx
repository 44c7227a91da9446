import type { Probe, WashStep } from '../records.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';

const width = 560;
const height = 140;
const left = 40;

/** The logged temperatures of one wash step, one line a thermometer, on a scale of its own that always shows 40 to 65 °C. */
export function Trace({ step }: { step: WashStep }) {
  const logs = (step.probes ?? []).filter((log) => log.length > 1);
  if (logs.length === 0) return null;
  const all = logs.flat();
  const end = Math.max(...all.map((p) => p.atS));
  const lo = Math.min(40, ...all.map((p) => p.tempC));
  const hi = Math.max(65, ...all.map((p) => p.tempC));
  const x = (s: number) => left + (s / end) * (width - left - 8);
  const y = (c: number) => height - 22 - ((c - lo) / (hi - lo)) * (height - 34);
  const line = (log: Probe[]) =>
    log.map((p, i) => `${i ? 'L' : 'M'}${x(p.atS).toFixed(1)} ${y(p.tempC).toFixed(1)}`).join('');
  const temps = all.map((p) => p.tempC);
  const label = say('boat.trace', {
    part: plain(step.claim.part),
    n: all.length,
    seconds: Math.round(end),
    lo: Math.min(...temps).toFixed(1),
    hi: Math.max(...temps).toFixed(1),
  });
  return (
    <svg className="trace" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={label}>
      {[40, 50, 60].map((c) => (
        <g key={c}>
          <path d={`M${left} ${y(c)} H${width - 8}`} className="grid" />
          <text x={left - 6} y={y(c) + 5} textAnchor="end">
            {c}°
          </text>
        </g>
      ))}
      {logs.map((log) => (
        <path key={JSON.stringify(log[0])} d={line(log)} className="log" />
      ))}
      <text x={width - 8} y={height - 4} textAnchor="end">
        {Math.round(end)} s
      </text>
    </svg>
  );
}
