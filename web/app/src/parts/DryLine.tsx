import type { DryLine } from '../engine/types.ts';

/** A day's name to the right of here would leave the picture. */
const ROOM_X = 250;

/** From wet to safe along one line of time: each binding clock a bar from its start to its end, now as a mark across them. */
export function DryPicture({
  lines,
  now,
  locale,
  label,
}: {
  lines: readonly DryLine[];
  now: Date;
  locale: string;
  label: string;
}) {
  const bars = lines.filter((l) => l.binding && l.start && l.earliest).slice(0, 6);
  if (bars.length === 0) return null;
  const from = Math.min(now.getTime(), ...bars.map((l) => Date.parse(l.start ?? '')));
  const to = Math.max(now.getTime() + 3600_000, ...bars.map((l) => Date.parse(l.earliest ?? '')));
  const toX = (t: number) => 10 + ((t - from) / (to - from)) * 300;
  const h = bars.length * 18 + 12;
  const days = midnights(from, to);
  const word = new Intl.DateTimeFormat(locale, { weekday: 'short', day: 'numeric' });
  return (
    <svg viewBox={`0 0 320 ${h + 24}`} className="thermo" role="img" aria-label={label}>
      {days.map((d, i) => (
        <g key={d}>
          <path d={`M${toX(d)} 4 V${h}`} className="dry-day" />
          {i % Math.ceil(days.length / 4) === 0 && toX(d) < ROOM_X ? (
            <text x={toX(d) + 3} y={h + 18}>
              {word.format(d)}
            </text>
          ) : null}
        </g>
      ))}
      {bars.map((l, i) => {
        const [a, b] = [toX(Date.parse(l.start ?? '')), toX(Date.parse(l.earliest ?? ''))];
        return (
          <path
            key={`${l.rule}${l.organism ?? ''}`}
            d={`M${a} ${14 + i * 18} H${b} M${b} ${8 + i * 18} V${20 + i * 18}`}
            className="dry-bar"
          />
        );
      })}
      <path d={`M${toX(now.getTime())} 0 V${h}`} className="dry-now" />
    </svg>
  );
}

function midnights(from: number, to: number): number[] {
  const out: number[] = [];
  const d = new Date(from);
  d.setHours(24, 0, 0, 0);
  const every = Math.max(1, Math.ceil((to - from) / 86_400_000 / 31));
  while (d.getTime() < to && out.length < 40) {
    out.push(d.getTime());
    d.setDate(d.getDate() + every);
  }
  return out;
}
