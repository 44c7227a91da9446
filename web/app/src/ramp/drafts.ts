import type { Air, Weather as Schema } from '../engine/types.ts';
import type { BoatDraft } from './boat.ts';
import type { WashDraft } from './washing.ts';

/** The shift that runs: the time on site that every boat belongs to. */
export interface ShiftDraft {
  readonly id: string; // of the draft
  readonly kind: 'shift';
  readonly entry: string; // the sealed entry that opened it, and its subject
  readonly launch: string;
  readonly people: readonly string[];
  readonly from: string;
  readonly weather?: Weather;
  /** The steward said some of the weather when the shift began. Without it nothing of the weather counts. */
  readonly said?: boolean;
  readonly unit?: string; // subject of the wash unit at hand
  /** Counted but not inspected, until it is sealed. */
  readonly tally: Tallies;
  /** Refusals, passes and turned away that are sealed already. */
  readonly counted: Tallies;
}

export interface Tallies {
  readonly passedBy: number;
  readonly refused: number;
  readonly turnedAway: number;
}

export const noTallies: Tallies = { passedBy: 0, refused: 0, turnedAway: 0 };

/** The weather as the steward says it, each part by itself; what is absent nobody said. Drying goes by it. */
export type Weather = Readonly<Schema>;

/** The weather of a shift as its record has it: none where nobody said any of it. */
export function saidWeather({ said, weather }: Pick<ShiftDraft, 'said' | 'weather'>): { weather?: Weather } {
  return said && weather ? { weather } : {};
}

/** Air in which nothing dries; colder, a rule could count it as frost. */
const nothingDries = { tempC: 0, rhPct: 100 };

/**
 * The air ahead as the engine takes it, for so long as a steward's word can stand for it; none where a part of it is not known, which the
 * engine takes as cool and damp. Rain alone is enough to know that nothing dries.
 */
export function airAhead({ airC, rhPct, wet }: Weather = {}): Air[] | undefined {
  const hours = 240;
  if (airC !== undefined && rhPct !== undefined && wet !== undefined) return [{ hours, tempC: airC, rhPct, wet }];
  return wet ? [{ hours, ...nothingDries, wet }] : undefined;
}

/** A short note of a boat that is done, for the list of the day and for meeting it again. */
export interface DoneNote {
  readonly id: string; // of the boat
  readonly kind: 'done';
  readonly boat: BoatDraft;
}

/** The note of a boat whose last act sealed its record. */
export const doneNote = (boat: BoatDraft): DoneNote => ({ id: `done-${boat.id}`, kind: 'done', boat });

export type AnyDraft = BoatDraft | WashDraft | ShiftDraft | DoneNote;
export type DraftKind = AnyDraft['kind'];
