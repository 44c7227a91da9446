// What the phone keeps, and the words for its state. The shapes of records themselves come from the engine's types.

/** Kinds of record. Further kinds that the server knows pass through as text. */
export type Kind = string;

/** JSON as it is kept. */
export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json | undefined };

/** One record as it goes to the server. Its text was settled when it was sealed; this is a reading of it. */
export interface Entry<B = unknown> {
  readonly id: string;
  readonly kind: Kind;
  /** The thing the entry is about: the id of its first entry. */
  readonly subject: string;
  readonly supersedes?: string;
  readonly removed?: boolean;
  readonly why?: string;
  /** By this phone's clock, with the offset of its time zone. */
  readonly madeAt: string;
  readonly origin: string;
  readonly person?: string;
  readonly device?: string;
  readonly seq?: number;
  readonly app?: string;
  readonly body: B;
}

/** A field that the server could not take: where, what was given, what is accepted. */
export interface FieldError {
  readonly field: string;
  readonly value?: string;
  readonly accepted: string;
}

/** A point that the server raised about an entry it has taken. */
export interface Flag {
  readonly code: string;
  readonly text: string;
}

/**
 * Where a record is. There are three words and no others: `onPhone` is durable here and goes by itself; `sent` is confirmed
 * by the server, by its sum; `needsYou` will not go by itself.
 */
export type RecordState = 'onPhone' | 'sent' | 'needsYou';

/** Why this phone set something aside by itself; `cause.` and the name is its message. */
export const causes = ['damaged', 'notTaken', 'pictureGone', 'pictureChanged', 'pictureRenamed'] as const;
export type Cause = (typeof causes)[number];

/** A cause by its name, or what the server said, in the server's words. Names are kept, so that a phone in another language says them anew. */
export type Reason = Cause | (string & {});

/** A sealed record on this phone. */
export interface PhoneRecord<B = unknown> {
  readonly entry: Entry<B>;
  readonly state: RecordState;
  /** Hexadecimal SHA-256 that the server must answer with before the record counts as sent. */
  readonly sum: string;
  readonly sentAt?: string;
  /** Why it needs somebody; only with needsYou. */
  readonly reason?: Reason;
  readonly errors?: readonly FieldError[];
  readonly flags?: readonly Flag[];
}

/** An unfinished piece of work, kept at every answer. */
export interface Draft<T = unknown> {
  readonly id: string;
  readonly value: T;
  /** Milliseconds since 1970 by this phone's clock. */
  readonly savedAt: number;
}

export interface SealOptions {
  /** The thing that is corrected; left out for something new. */
  readonly subject?: string;
  /** The entry that is corrected; needs subject and why. */
  readonly supersedes?: string;
  readonly why?: string;
  /** Keyed in from a sheet of paper. */
  readonly origin?: 'phone' | 'paper';
  /** The draft this came from: it goes in the same transaction, so that work is never both done and open, or neither. */
  readonly draft?: string;
  /** The id to use, where it was made before (a receipt names it); must come from newId. */
  readonly id?: string;
  /** When it was made; now where left out. */
  readonly madeAt?: Date;
}

/** Why something could not be saved. */
export type TroubleWhy = 'full' | 'closed' | 'failed' | 'readOnly' | 'notReady' | 'damaged' | 'photosPaused';

/** Standing trouble with this phone's storage: shown until a save works again. */
export interface Trouble {
  readonly why: TroubleWhy;
  /** What happened and what to do, in English; `store.` and the reason is its message. */
  readonly text: string;
}

/** A save that did not happen. Nothing of it is on the phone; what was there before is untouched. */
export class NotSaved extends Error {
  override readonly name = 'NotSaved';
  readonly why: TroubleWhy;
  constructor(trouble: Trouble, cause?: unknown) {
    super(trouble.text, { cause });
    this.why = trouble.why;
  }
}

/** This phone as the server knows it. */
export interface Enrolment {
  readonly device: string;
  readonly person: string;
  readonly role: 'steward' | 'technician' | 'manager';
  readonly name: string;
  /** May work without the server until then. */
  readonly leaseUntil: string;
  readonly demo: boolean;
  readonly enrolledAt: string;
}

/** What the edge of every screen shows. */
export interface Status {
  /** Everything that is kept here has been read. */
  readonly ready: boolean;
  /** Another tab of this app is writing; this one only shows. */
  readonly readOnly: boolean;
  readonly enrolment?: Enrolment;
  /** The server said that this phone is out of service. */
  readonly revoked: boolean;
  /** Records that are durable here and wait to be sent. */
  readonly onPhone: number;
  /** Records the server has confirmed, those that have left the phone since too. */
  readonly sent: number;
  /** Records that will not go by themselves. */
  readonly needsYou: number;
  /** Unfinished pieces of work. */
  readonly drafts: number;
  readonly photosWaiting: number;
  readonly photosSent: number;
  /** New photos are not taken, because the phone is nearly full; records still are. */
  readonly photosPaused: boolean;
  readonly lastSentAt?: string;
  readonly trouble?: Trouble;
  /** The second copy of what has not been sent. */
  readonly secondCopy: 'whole' | 'behind' | 'none';
  /** When the reference records were last asked for with success. */
  readonly referenceAt?: string;
  /** By how many milliseconds this phone's clock runs ahead, as the server last measured. */
  readonly skewMs?: number;
}

/** A reference record as it stands now. */
export interface Reference<B = unknown> {
  readonly subject: string;
  readonly kind: Kind;
  /** The entry that says so. */
  readonly entry: string;
  readonly madeAt: string;
  readonly body: B;
  /** Two corrections compete for it; somebody at the office has to settle which holds. */
  readonly conflict: boolean;
}

/** A photo on this phone; its picture is fetched with photoUrl. */
export interface PhotoKept {
  /** SHA-256 of the bytes, the name of the photo. */
  readonly sha256: string;
  readonly bytes: number;
  readonly type: 'image/jpeg';
  readonly widthPx: number;
  readonly heightPx: number;
  readonly state: RecordState;
  readonly reason?: Reason;
  readonly takenAt: string;
}
