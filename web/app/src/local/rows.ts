import type { FieldError, Flag, Reason, RecordState } from './types.ts';

// Rows of the journal's tables as they lie in the database.

/** A sealed record. */
export interface RecordRow {
  readonly id: string;
  readonly kind: string;
  readonly seq: number;
  readonly state: RecordState;
  /** The whole entry as it is sent; never written again. */
  readonly text: string;
  readonly sum: string;
  readonly sentAt?: string;
  readonly reason?: Reason;
  readonly errors?: readonly FieldError[];
  readonly flags?: readonly Flag[];
}

/** An unfinished piece of work; check is the SHA-256 of text. */
export interface DraftRow {
  readonly id: string;
  readonly text: string;
  readonly check: string;
  readonly savedAt: number;
}

export interface MetaRow<T = unknown> {
  readonly key: string;
  readonly value: T;
}

/** Counts that only grow. They are kept in the same transactions as what they count. */
export interface Counters {
  readonly seq: number;
  readonly sent: number;
  readonly lastSentAt?: string;
}

export const noCounters: Counters = { seq: 0, sent: 0 };

export interface PhotoRow {
  readonly sha256: string;
  readonly bytes: number;
  readonly type: 'image/jpeg';
  readonly widthPx: number;
  readonly heightPx: number;
  readonly takenAt: string;
  readonly state: RecordState;
  readonly reason?: Reason;
  readonly sentAt?: string;
  /** The picture; gone once it is sent and has been let go. */
  readonly data?: ArrayBuffer;
}

/** An entry of a reference record, as the server gave it. */
export interface ReferenceRow {
  readonly id: string;
  readonly kind: string;
  readonly subject: string;
  readonly supersedes?: string;
  readonly removed?: boolean;
  readonly madeAt: string;
  readonly skewMs?: number;
  readonly body: unknown;
}
