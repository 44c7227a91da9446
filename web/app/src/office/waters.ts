import type { BodyOf, Schemas } from '../shared/api.ts';
import { statuses } from './kinds.ts';
import type { Outline } from './parts/Shore.tsx';

export type Water = BodyOf<'water'>;
/** A point is written as longitude and latitude; the description of the API cannot say that a list has two numbers. */
export type LonLat = [number, number];

export const centreOf = (water: Water) => (water.centre ?? [0, 0]) as LonLat;
export const outlineOf = (water: Water) => water.outline as Outline | undefined;

export type DatedStatus = Schemas['DatedStatusRecord'];

/** What stands of each organism now. */
export function standing(water: Water): DatedStatus[] {
  return (water.statuses ?? []).filter((s) => !s.to);
}

/** The status of a water to draw: the worst that stands, or what is said of all others. */
export function worst(water: Water): string {
  const all = [...standing(water).map((s) => s.status), water.others ?? ''];
  return all.sort((a, b) => statuses.indexOf(b as never) - statuses.indexOf(a as never))[0] ?? '';
}

/** The organisms that some water has a status of. */
export function organismsOf(waters: { body: Water }[]): string[] {
  const all = waters.flatMap((w) => w.body.statuses?.map((s) => s.organism) ?? []);
  return [...new Set(all)].sort();
}
