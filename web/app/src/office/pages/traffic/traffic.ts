import type { Feature, FeatureCollection } from 'geojson';
import type { Schemas } from '../../../shared/api.ts';

export type Interval = Schemas['Interval'];
type Day = Schemas['DayArrivals'];

/** An estimate as people read it: three digits, never more than it can mean. */
export function amount(x: number): string {
  if (x > 0 && x < 0.001) return '< 0.001';
  return x.toLocaleString('en', { maximumSignificantDigits: 3 });
}

export const percent = (share: number) => `${amount(share * 100)} %`;

/** Both ends of an interval in words. */
export const span = (of: Interval) => `${amount(of.lo)} to ${amount(of.hi)}`;

export const times = (of: Interval, by: number): Interval => ({ lo: of.lo * by, mid: of.mid * by, hi: of.hi * by });

/** A week of the season with its share of the season's arrivals. The last one may be short. */
export interface Week {
  from: string;
  to: string;
  share: number;
}

/** The weeks of a season, counted from its first day. */
export function weeks(days: Day[], total: number): Week[] {
  const out: Week[] = [];
  for (let i = 0; i < days.length; i += 7) {
    const of = days.slice(i, i + 7);
    const first = of[0];
    const last = of.at(-1);
    if (!first || !last || !(total > 0)) continue;
    out.push({ from: first.day, to: last.day, share: of.reduce((sum, d) => sum + d.craft.mid, 0) / total });
  }
  return out;
}

/** How sure a flow is, by how many times its upper end is the lower: three steps that can be drawn apart. */
export type Certainty = 'firm' | 'loose' | 'guess';

export function certainty(of: Interval): Certainty {
  if (!(of.lo > 0) || of.hi > 10 * of.lo) return 'guess';
  return of.hi > 3 * of.lo ? 'loose' : 'firm';
}

export interface Place {
  id: string;
  lon: number;
  lat: number;
}

export interface Line {
  from: string;
  to: string;
  passages: Interval;
}

const steps = 16;

/** Points of an arc that bends to the right of the way from one place to another, so that there and back lie apart. */
export function arc(a: Place, b: Place): [number, number][] {
  const squeeze = Math.cos((((a.lat + b.lat) / 2) * Math.PI) / 180);
  const dx = (b.lon - a.lon) * squeeze;
  const dy = b.lat - a.lat;
  const bend = 0.16;
  const lon = (a.lon + b.lon) / 2 + (dy * bend) / squeeze;
  const lat = (a.lat + b.lat) / 2 - dx * bend;
  return Array.from({ length: steps + 1 }, (_, i) => {
    const t = i / steps;
    const [p, q, r] = [(1 - t) ** 2, 2 * t * (1 - t), t ** 2];
    return [p * a.lon + q * lon + r * b.lon, p * a.lat + q * lat + r * b.lat];
  });
}

/** Flows as arcs with their width (0 to 1 of the largest) and, for each, the place and heading of an arrow head. */
export function drawn(lines: Line[], places: Place[], largest: number): FeatureCollection {
  const at = new Map(places.map((p) => [p.id, p]));
  const features: Feature[] = [];
  for (const line of [...lines].reverse()) {
    const a = at.get(line.from);
    const b = at.get(line.to);
    if (!a || !b || !(largest > 0)) continue;
    const points = arc(a, b);
    const properties = { width: line.passages.mid / largest, certainty: certainty(line.passages) };
    features.push({ type: 'Feature', geometry: { type: 'LineString', coordinates: points }, properties });
    const [p, q] = [points[10], points[11]];
    if (!p || !q) continue;
    const east = (q[0] - p[0]) * Math.cos((p[1] * Math.PI) / 180);
    const heading = (Math.atan2(east, q[1] - p[1]) * 180) / Math.PI;
    features.push({
      type: 'Feature',
      geometry: { type: 'Point', coordinates: q },
      properties: { ...properties, heading },
    });
  }
  return { type: 'FeatureCollection', features };
}

/** Round steps of an axis from 0 to beyond the top. */
export function ticks(top: number, about = 4): number[] {
  if (!(top > 0)) return [0, 1];
  const rough = top / about;
  const tens = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((m) => m * tens >= rough) ?? 10) * tens;
  return Array.from({ length: Math.ceil(top / step - 1e-9) + 1 }, (_, i) => i * step);
}
