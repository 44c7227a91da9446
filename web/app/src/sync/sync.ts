import { KEEP_SENT_DAYS, type Receipt } from '../local/journal.ts';
import type { Local } from '../local/local.ts';
import type { RecordRow } from '../local/rows.ts';
import { type EntryAnswer, type FailureWhy, SendFailure, type Transport } from './transport.ts';

/** How the link stands, for the page that says what is kept where. Whether records are safe is not its matter. */
export interface SyncState {
  readonly phase: 'off' | 'idle' | 'sending' | 'waiting';
  readonly why?: FailureWhy;
  /** What the server said, in its words. */
  readonly text?: string;
  /** Milliseconds since 1970. */
  readonly nextTryAt?: number;
}

export interface SyncOptions {
  readonly local: Local;
  /** Undefined until the phone is enrolled. */
  readonly transport: () => Promise<Transport | undefined>;
  readonly now?: () => number;
  /** A number in [0, 1), for spreading tries of many phones. */
  readonly luck?: () => number;
}

const MIN_BATCH = 5;
const MAX_BATCH = 100;
const MAX_BATCH_CHARS = 1_000_000;
const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 120_000;
/** An incident is tried again within this, whatever went wrong before. */
const INCIDENT_WAIT_MS = 10_000;
/** How often a phone with signal asks for news. */
const PULL_EVERY_MS = 10 * 60_000;
const DAY_MS = 86_400_000;
/** How often what a person practised and finds is fetched, and under which name it is kept. */
const OWN_EVERY_MS = DAY_MS / 2;
export const OWN_PRACTICE = 'practice';

/**
 * Sends what waits and fetches what is new, for as long as it takes. Every try may be cut off anywhere and made again: the
 * server keeps each record once, and a record counts as sent only when the server has said its sum.
 */
export class Sync {
  readonly #local: Local;
  readonly #transport: SyncOptions['transport'];
  readonly #now: () => number;
  readonly #luck: () => number;
  readonly #listeners = new Set<() => void>();
  #state: SyncState = { phase: 'off' };
  #timer: ReturnType<typeof setTimeout> | undefined;
  #failures = 0;
  #batch = 50;
  #roundTripMs = 0;
  #running: Promise<void> | undefined;
  #again = false;
  #pulledAt = 0;
  #pullWanted = false;

  constructor({ local, transport, now = Date.now, luck = Math.random }: SyncOptions) {
    this.#local = local;
    this.#transport = transport;
    this.#now = now;
    this.#luck = luck;
  }

  state = (): SyncState => this.#state;

  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  /** Goes on by itself from here: at new records, when the network comes back, when the app comes to the front. */
  start(): void {
    let waiting = 0;
    this.#local.subscribe(() => {
      const { onPhone, photosWaiting } = this.#local.status();
      if (onPhone + photosWaiting > waiting) this.#soon();
      waiting = onPhone + photosWaiting;
    });
    if (typeof addEventListener !== 'undefined') {
      addEventListener('online', () => this.poke());
      document.addEventListener('visibilitychange', () => {
        if (document.visibilityState === 'visible') this.poke();
      });
    }
    this.poke();
  }

  /** Tries now, whatever wait there was. */
  poke(pull = false): void {
    this.#failures = 0;
    if (pull) this.#pullWanted = true;
    this.#soon();
  }

  /** One pass over everything, now; resolves when it has ended, well or badly. */
  async pass(pull = false): Promise<SyncState> {
    if (pull) this.#pullWanted = true;
    await this.#go();
    return this.#state;
  }

  #soon(): void {
    if (this.#running) {
      this.#again = true;
      return;
    }
    // A new record does not cut a wait short that the server asked for or that failures have earned, unless it is urgent.
    const wait = this.#failures === 0 ? 0 : this.#waitMs();
    this.#schedule(wait);
  }

  #schedule(ms: number): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#go(), ms);
  }

  #go(): Promise<void> {
    this.#running ??= this.#whole().finally(() => {
      this.#running = undefined;
      if (this.#again) {
        this.#again = false;
        this.#soon();
      }
    });
    return this.#running;
  }

  async #whole(): Promise<void> {
    const { readOnly, enrolment, revoked } = this.#local.status();
    const transport = enrolment && !readOnly ? await this.#transport() : undefined;
    if (!transport) return this.#set({ phase: 'off' });
    this.#set({ phase: 'sending' });
    try {
      if (!revoked) {
        await this.#records(transport);
        await this.#practice(transport);
        await this.#pull(transport);
        await this.#lease(transport);
        await this.#photos(transport);
      } else await this.#records(transport);
      this.#failures = 0;
      this.#set({ phase: 'idle' });
      this.#schedule(PULL_EVERY_MS);
    } catch (error) {
      if (!(error instanceof SendFailure)) {
        // The phone's own storage failed: its trouble is shown by the journal; sending can wait.
        this.#later(new SendFailure('storage'));
        return;
      }
      if (error.why === 'revoked') await this.#local.journal.setRevoked().catch(() => undefined);
      this.#later(error);
    }
  }

  #later(failure: SendFailure): void {
    this.#failures += 1;
    const wait = Math.max(this.#waitMs(), (failure.retryAfterS ?? 0) * 1000);
    this.#set({ phase: 'waiting', why: failure.why, text: failure.reason, nextTryAt: this.#now() + wait });
    this.#schedule(wait);
  }

  /** Doubles from a second, spread so that two hundred phones do not come back at one instant. */
  #waitMs(): number {
    const base = Math.min(FIRST_WAIT_MS * 2 ** Math.min(this.#failures - 1, 10), LONGEST_WAIT_MS);
    const urgent = this.#waiting().some((r) => r.kind === 'incident');
    return Math.min(base, urgent ? INCIDENT_WAIT_MS : LONGEST_WAIT_MS) * (0.5 + this.#luck() / 2);
  }

  /** Incidents before all else, then in the order they were made. */
  #waiting(): RecordRow[] {
    const urgent = (r: RecordRow) => (r.kind === 'incident' ? 0 : 1);
    return this.#local.journal.rows
      .filter((r) => r.state === 'onPhone')
      .sort((a, b) => urgent(a) - urgent(b) || a.seq - b.seq);
  }

  async #records(transport: Transport): Promise<void> {
    for (;;) {
      const batch = take(this.#waiting(), this.#batch);
      if (batch.length === 0) return;
      const began = this.#now();
      try {
        const { answers, skewMs, leaseUntil } = await transport.send(batch, this.#roundTripMs);
        this.#roundTripMs = Math.max(0, Math.round(this.#now() - began));
        const receipts = receiptsOf(batch, answers);
        await this.#local.journal.settle(receipts);
        await this.#note(skewMs, leaseUntil);
        if (receipts.length === 0) throw new SendFailure('notTheServer'); // an answer that names none of the records
        this.#batch = Math.min(this.#batch * 2, MAX_BATCH);
      } catch (error) {
        if (!(error instanceof SendFailure)) throw error;
        await this.#afterFailure(error, batch);
      }
    }
  }

  /** Makes the next try smaller, or sets one record aside that is the trouble itself; else passes the failure on. */
  async #afterFailure(failure: SendFailure, batch: readonly RecordRow[]): Promise<void> {
    this.#batch = Math.max(MIN_BATCH, Math.floor(this.#batch / 2));
    const { reason, fields: errors } = failure;
    if (failure.why === 'revoked') {
      // The server keeps what such a phone sends apart, whole, for the manager.
      await this.#local.journal.settle(batch.map(({ id }) => ({ id, reason, errors })));
      await this.#local.journal.setRevoked();
      return;
    }
    if (failure.why === 'tooLarge' || (failure.why === 'refused' && errors.length > 0)) {
      const [first] = batch;
      if (batch.length === 1 && first) await this.#local.journal.settle([{ id: first.id, reason, errors }]);
      else this.#batch = Math.max(1, Math.floor(batch.length / 2));
      return;
    }
    throw failure;
  }

  async #note(skewMs: number, leaseUntil: string): Promise<void> {
    const { skewMs: old, enrolment } = this.#local.status();
    if (old === undefined || Math.abs(old - skewMs) > 1000) await this.#local.setSkew(skewMs);
    if (enrolment && Date.parse(leaseUntil) - Date.parse(enrolment.leaseUntil) > 3_600_000) {
      await this.#local.journal.setEnrolment({ ...enrolment, leaseUntil }, undefined);
    }
  }

  async #pull(transport: Transport): Promise<void> {
    const { reference } = this.#local;
    if (!this.#pullWanted && reference.at !== undefined && this.#now() - this.#pulledAt < PULL_EVERY_MS) return;
    for (;;) {
      const before = reference.cursor;
      const { rows, next } = await transport.changes(before);
      await reference.take(rows, next, new Date(this.#now()).toISOString());
      if (next === before) break;
    }
    await this.#known(transport);
    this.#pulledAt = this.#now();
    this.#pullWanted = false;
    await this.#local.prune();
  }

  /** Fetches the key of the season's marks, and the craft that other phones have met. */
  async #known(transport: Transport): Promise<void> {
    const { known } = this.#local;
    const found = await transport.markKey?.();
    if (!found) return;
    await known.setKey(found.season, found.key);
    for (;;) {
      const before = await known.after();
      const page = await transport.knownCraft?.(before);
      if (!page || page.season !== found.season || page.next === before) return;
      await known.take(page.craft, page.next);
    }
  }

  /**
   * Fetches twice a day what this person practised and finds. Risk and short rounds are worked out with published figures
   * without it, so that a server that does not give it holds up nothing.
   */
  async #practice(transport: Transport): Promise<void> {
    const had = await this.#local.recall<{ at: string }>(OWN_PRACTICE);
    if (had && this.#now() - Date.parse(had.at) < OWN_EVERY_MS) return;
    try {
      const own = await transport.practice?.();
      if (!own) return;
      await this.#local.remember(OWN_PRACTICE, { ...own, at: new Date(this.#now()).toISOString() });
    } catch (error) {
      if (!(error instanceof SendFailure) || error.why === 'revoked') throw error;
    }
  }

  /** Renews the lease once a day of it is gone; a sync with records does it by itself. */
  async #lease(transport: Transport): Promise<void> {
    const { enrolment } = this.#local.status();
    if (!enrolment || Date.parse(enrolment.leaseUntil) - this.#now() > (KEEP_SENT_DAYS - 1) * DAY_MS) return;
    const { leaseUntil } = await transport.lease();
    await this.#local.journal.setEnrolment({ ...enrolment, leaseUntil }, undefined);
  }

  /** Photos go after all records, one at a time, and make way for a new record between any two. */
  async #photos(transport: Transport): Promise<void> {
    for (const photo of this.#local.photos.waiting()) {
      await this.#records(transport);
      const data = await this.#local.photos.data(photo.sha256);
      if (!data) {
        await this.#local.photos.settle(photo.sha256, { reason: 'pictureGone' });
        continue;
      }
      try {
        await transport.photo(photo.sha256, data);
        await this.#local.photos.settle(photo.sha256, { sent: true });
      } catch (error) {
        if (!(error instanceof SendFailure) || (error.why !== 'refused' && error.why !== 'tooLarge')) throw error;
        await this.#local.photos.settle(photo.sha256, { reason: error.reason });
      }
    }
  }

  #set(state: SyncState): void {
    this.#state = state;
    for (const listener of this.#listeners) listener();
  }
}

/** As many as fit into one request. */
function take(rows: readonly RecordRow[], most: number): RecordRow[] {
  const batch: RecordRow[] = [];
  let chars = 0;
  for (const row of rows) {
    if (batch.length >= most || (batch.length > 0 && chars + row.text.length > MAX_BATCH_CHARS)) break;
    batch.push(row);
    chars += row.text.length;
  }
  return batch;
}

/** Answers that belong to what was sent. A sum that is missing or not ours is no answer at all. */
function receiptsOf(batch: readonly RecordRow[], answers: readonly EntryAnswer[]): Receipt[] {
  const byId = new Map(batch.map((r) => [r.id, r]));
  const receipts: Receipt[] = [];
  for (const { id, result, sum, errors, flags } of answers) {
    const row = byId.get(id);
    if (!row) continue;
    if ((result === 'stored' || result === 'had') && sum === row.sum)
      receipts.push({ id, sum, ...(flags && { flags }) });
    else if (result === 'refused') {
      receipts.push({
        id,
        reason: 'notTaken',
        errors: errors ?? [],
      });
    }
  }
  return receipts;
}
