import { Timers } from './clock.ts';
import type { SecondCopy } from './copy.ts';
import { Db } from './db.ts';
import { newId } from './id.ts';
import { Journal, KEEP_SENT_DAYS, type ToSeal } from './journal.ts';
import { Known } from './known.ts';
import { Photos } from './photos.ts';
import { ReferenceData } from './reference.ts';
import type { Draft, Entry, PhoneRecord, SealOptions, Status } from './types.ts';

export interface LocalOptions {
  readonly name?: string;
  readonly factory?: IDBFactory;
  readonly copy?: SecondCopy | undefined;
  readonly now?: () => Date;
  readonly app?: string;
  /** Waits for the right to write; gives false where another tab has it. Calls back when that tab has gone. */
  readonly mayWrite?: (whenFree: () => void) => Promise<boolean>;
}

/**
 * Everything this phone keeps. Screens use this and nothing below it. Writes resolve when the thing is durable on the phone
 * and reject with NotSaved when it is not; then nothing has changed.
 */
export class Local {
  readonly journal: Journal;
  readonly reference: ReferenceData;
  readonly photos: Photos;
  readonly timers: Timers;
  readonly known: Known;
  readonly #mayWrite: LocalOptions['mayWrite'];
  readonly #listeners = new Set<() => void>();
  readonly #channel: BroadcastChannel | undefined;
  #status: Status | undefined;
  #skewMs: number | undefined;
  #opening: Promise<void> | undefined;
  #ready = false;

  constructor({ name = 'thwart-ramp', factory, copy, now, app, mayWrite }: LocalOptions = {}) {
    const db = new Db(name, factory);
    this.journal = new Journal({ db, copy, ...(now && { now }), ...(app !== undefined && { app }) });
    this.reference = new ReferenceData(db, this.journal);
    this.photos = new Photos(db, this.journal);
    this.timers = new Timers(db, this.journal);
    this.known = new Known(db, this.journal);
    this.#mayWrite = mayWrite;
    this.journal.onChange(() => this.#changed(true));
    if (typeof BroadcastChannel !== 'undefined') {
      this.#channel = new BroadcastChannel(name);
      this.#channel.onmessage = () => {
        if (this.journal.readOnly) void this.#reload().catch(() => undefined);
      };
    }
  }

  /** Opens the journal; safe to call more than once. */
  open(): Promise<void> {
    this.#opening ??= this.#start();
    return this.#opening;
  }

  async #start(): Promise<void> {
    const writes = (await this.#mayWrite?.(() => void this.#takeOver().catch(() => undefined))) ?? true;
    await this.journal.open(!writes);
    await Promise.all([this.reference.load(), this.photos.load(), this.timers.load()]);
    this.#skewMs = await this.journal.meta<number>('skewMs');
    this.#ready = true;
    this.#changed(false);
    // Nobody waits for what only makes room; where it fails it is done after the next sending.
    if (writes) void this.prune().catch(() => undefined);
  }

  /** The other tab has gone: this one reads everything again and writes from here on. */
  async #takeOver(): Promise<void> {
    await this.journal.open(false);
    await this.#reload();
  }

  async #reload(): Promise<void> {
    await this.journal.refresh();
    await Promise.all([this.reference.load(), this.photos.load()]);
    this.#changed(false);
  }

  // Drafts

  /** Keeps a piece of work as it stands; called at every answer. Resolves when it is durable. */
  async saveDraft(id: string, value: unknown): Promise<void> {
    await this.journal.saveDraft(id, value);
  }
  loadDrafts<T = unknown>(): Draft<T>[] {
    return this.journal.drafts<T>();
  }
  async dropDraft(id: string): Promise<void> {
    await this.journal.dropDraft(id);
  }

  // Records

  /** Makes an id for something that will be sealed later. */
  newId(): string {
    return newId();
  }
  /** Seals one record: it is durable, has its number, and goes to the server by itself. */
  async seal<B>(kind: string, body: B, options?: SealOptions): Promise<Entry<B>> {
    const [entry] = await this.journal.seal([{ kind, body, ...(options && { options }) }]);
    return entry as Entry<B>;
  }
  /** Seals several records together: all or none. */
  async sealAll(things: readonly ToSeal[]): Promise<Entry[]> {
    return this.journal.seal(things);
  }
  records<B = unknown>(kind?: string): PhoneRecord<B>[] {
    return this.journal.records<B>(kind);
  }
  record<B = unknown>(id: string): PhoneRecord<B> | undefined {
    return this.journal.record<B>(id);
  }
  async tryAgain(id: string): Promise<void> {
    await this.journal.tryAgain(id);
  }
  async letGo(id: string): Promise<void> {
    await this.journal.letGo(id);
  }
  /** Lets sent records and photos go that have been here long enough, or recognise a craft once the shift is over. */
  async prune(shiftEnded = false): Promise<void> {
    await this.journal.prune(KEEP_SENT_DAYS, shiftEnded);
    await this.photos.prune(KEEP_SENT_DAYS);
  }

  // Small things a screen wants to find again, such as the weather of the last shift

  async remember(key: string, value: unknown): Promise<void> {
    await this.journal.setMeta(`screen/${key}`, value);
  }
  async recall<T>(key: string): Promise<T | undefined> {
    return this.journal.meta<T>(`screen/${key}`);
  }

  async setSkew(ms: number): Promise<void> {
    this.#skewMs = ms;
    await this.journal.setMeta('skewMs', ms);
  }

  // State for screens

  /** Calls back after every change of the status. */
  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  /** The status now; the same object as long as nothing has changed. */
  status = (): Status => {
    this.#status ??= this.#look();
    return this.#status;
  };

  #look(): Status {
    const { journal, photos, reference } = this;
    const of = { onPhone: 0, needsYou: 0, sent: 0 };
    for (const row of journal.rows) of[row.state] += 1;
    const { sent, lastSentAt } = journal.counters;
    const photoNeeds = photos.list().filter((p) => p.state === 'needsYou').length;
    return {
      ready: this.#ready,
      readOnly: journal.readOnly,
      ...(journal.enrolment && { enrolment: journal.enrolment }),
      revoked: journal.revoked,
      onPhone: of.onPhone,
      sent,
      needsYou: of.needsYou + photoNeeds,
      drafts: journal.draftCount,
      photosWaiting: photos.waiting().length,
      photosSent: photos.sent,
      photosPaused: photos.paused,
      secondCopy: journal.secondCopy,
      ...(lastSentAt !== undefined && { lastSentAt }),
      ...(journal.trouble && { trouble: journal.trouble }),
      ...(reference.at !== undefined && { referenceAt: reference.at }),
      ...(this.#skewMs !== undefined && { skewMs: this.#skewMs }),
    };
  }

  #changed(tell: boolean): void {
    this.#status = undefined;
    for (const listener of this.#listeners) listener();
    if (tell && !this.journal.readOnly) this.#channel?.postMessage('changed');
  }
}
