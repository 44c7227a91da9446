import type { Schemas } from '../shared/api.ts';
import type { PlanShift } from './plans.ts';

export type Roster = Schemas['SeasonRoster'];
export type Row = Schemas['RosterRow'];
export type Ask = Schemas['RosterAsk'];
export type ByHand = Schemas['ByHand'];
export type Place = Omit<Schemas['PlaceGiven'], 'person'>;
export type Given = Schemas['PlaceGiven'];
export type Choice = Schemas['PlaceChoice'];
/** What is to be changed in a roster that was made. */
export type Change = { give: Given } | { absent: ByHand[] };

const dayMS = 86_400_000;
const utc = (day: string) => Date.parse(`${day}T00:00:00Z`);
const iso = (ms: number) => new Date(ms).toISOString().slice(0, 10);

/** The Monday of a day's week, as in ISO 8601. */
export function mondayOf(day: string): string {
  const at = utc(day);
  return iso(at - ((new Date(at).getUTCDay() + 6) % 7) * dayMS);
}

export const plusDays = (day: string, n: number) => iso(utc(day) + n * dayMS);
export const weekOf = (monday: string) => Array.from({ length: 7 }, (_, i) => plusDays(monday, i));
export const weeksOf = (rows: Row[]) => [...new Set(rows.map((r) => mondayOf(r.day)))].sort();

export function dayWords(day: string): string {
  return new Date(utc(day)).toLocaleString('en', { weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' });
}

export function hourWords(hour: number): string {
  const minutes = Math.round(hour * 60);
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

export const hoursWords = (r: { from: number; to: number }) => `${hourWords(r.from)}–${hourWords(r.to)}`;

/** A place of a shift: somebody's, or one that is open. */
export const placeOf = (r: Row, holder?: string): Place => ({
  launch: r.launch,
  day: r.day,
  from: r.from,
  ...(holder && { holder }),
});

export interface Gap {
  row: Row;
  /** Risk that the plan's shift stops on one day; undefined where the roster was not made from a plan. */
  risk: number | undefined;
}

/** Shifts that miss people, what they would stop first, and before all else those of which that is not known. A Saturday or Sunday is looked up among the plan's free days. */
export function gapsOf(rows: Row[], shifts: PlanShift[] | undefined): Gap[] {
  return rows
    .filter((r) => r.open > 0)
    .map((row) => {
      const free = [0, 6].includes(new Date(utc(row.day)).getUTCDay());
      const s = shifts?.find(
        (p) => p.launch === row.launch && p.from === row.from && p.day === (free ? 'free day' : 'weekday'),
      );
      return { row, risk: s && s.days > 0 ? s.stops / s.days : undefined };
    })
    .sort(
      (a, b) =>
        (b.risk ?? Infinity) - (a.risk ?? Infinity) || a.row.day.localeCompare(b.row.day) || a.row.from - b.row.from,
    );
}
