import type { Weather as Schema } from '../engine/types.ts';
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
  /** The steward said the weather when the shift began, rather than leaving what stood there: it goes into the record. */
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

/** The weather as the steward says it; drying and heat losses go by it. */
export type Weather = Readonly<Schema>;

/** The weather of a shift as its record has it: none where nobody said it. */
export function saidWeather({ said, weather }: Pick<ShiftDraft, 'said' | 'weather'>): { weather?: Weather } {
  return said && weather ? { weather } : {};
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
