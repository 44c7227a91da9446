import { say, type Word } from '../words.ts';

/** A shore and its islands as rings of longitude and latitude. */
export type Outline = [number, number][][];

/**
 * The shape of a water, small, with its worst status as a pattern: plain for looked and not found, hatched for not looked,
 * dotted for suspect, filled for infested. Not looked is never drawn as clean.
 */
export function Shore({ outline, status, size = 44 }: { outline: Outline | undefined; status: string; size?: number }) {
  const ring = outline?.[0];
  const path =
    ring && ring.length > 3
      ? shape(outline, size)
      : `M${size * 0.1} ${size / 2}a${size * 0.4} ${size * 0.3} 0 1 0 ${size * 0.8} 0a${size * 0.4} ${size * 0.3} 0 1 0 ${-size * 0.8} 0Z`;
  const fill =
    {
      infested: 'var(--ink)',
      positive: 'url(#hatch-positive)',
      suspect: 'url(#hatch-suspect)',
      not_found: 'none',
      eradicated: 'none',
    }[status] ?? 'url(#hatch-unlooked)';
  return (
    <svg
      className="shore"
      viewBox={`0 0 ${size} ${size}`}
      width={size}
      height={size}
      role="img"
      aria-label={statusWord(status)}
    >
      <path d={path} fill={fill} fillRule="evenodd" stroke="var(--ink)" strokeWidth="1.5" />
    </svg>
  );
}

/** The patterns that shores are filled with; once on a page. */
export function ShorePatterns() {
  return (
    <svg width="0" height="0" className="patterns" aria-hidden="true">
      <defs>
        <pattern id="hatch-unlooked" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path d="M0 0V5" stroke="var(--slate)" strokeWidth="1.2" />
        </pattern>
        <pattern id="hatch-suspect" width="5" height="5" patternUnits="userSpaceOnUse">
          <circle cx="2" cy="2" r="1.2" fill="var(--ink)" />
        </pattern>
        <pattern id="hatch-positive" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path d="M0 0V5M0 0H5" stroke="var(--ink)" strokeWidth="2" />
        </pattern>
      </defs>
    </svg>
  );
}

export function statusWord(status: string): string {
  return say(`status.${status || 'unknown'}` as Word);
}

function shape(outline: Outline, size: number): string {
  const all = outline[0] ?? [];
  const lons = all.map((p) => p[0]);
  const lats = all.map((p) => p[1]);
  const west = Math.min(...lons);
  const north = Math.max(...lats);
  const squeeze = Math.cos((north * Math.PI) / 180); // a degree of longitude is shorter than one of latitude
  const width = (Math.max(...lons) - west) * squeeze;
  const height = north - Math.min(...lats);
  const scale = (size - 4) / Math.max(width, height, 1e-9);
  const dx = (size - width * scale) / 2;
  const dy = (size - height * scale) / 2;
  const at = ([lon, lat]: [number, number]) =>
    `${(dx + (lon - west) * squeeze * scale).toFixed(1)} ${(dy + (north - lat) * scale).toFixed(1)}`;
  return outline.map((ring) => `M${ring.map(at).join('L')}Z`).join('');
}
