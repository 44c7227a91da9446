import type { SecondCopy } from './copy.ts';
import { type Db, type Tx, trouble } from './db.ts';
import { localTime, newId, sha256 } from './id.ts';
import { type Counters, type DraftRow, type MetaRow, noCounters, type RecordRow } from './rows.ts';
import { sealText, unseal } from './seal.ts';
import {
  type Draft,
  type Enrolment,
  type Entry,
  type FieldError,
  type Flag,
  NotSaved,
  type PhoneRecord,
  type Reason,
  type SealOptions,
  type Trouble,
} from './types.ts';

/** One thing to seal. */
export interface ToSeal {
  readonly kind: string;
  readonly body: unknown;
  readonly options?: SealOptions;
}

/** What the server said about one record. */
export type Receipt =
  | { readonly id: string; readonly sum: string; readonly flags?: readonly Flag[] }
  | { readonly id: string; readonly reason: Reason; readonly errors?: readonly FieldError[] };

export interface JournalOptions {
  readonly db: Db;
  readonly copy?: SecondCopy | undefined;
  readonly now?: () => Date;
  /** Version of this program, written into every record. */
  readonly app?: string;
}

/** Days after which a sent record leaves the phone, where the programme says nothing else. */
export const KEEP_SENT_DAYS = 7;

/**
 * The journal of one phone: drafts, sealed records, and what became of them. It holds in memory what the database holds, and
 * changes memory only after the database has confirmed. Only one journal may be open for writing at a time.
 */
export class Journal {
  readonly #db: Db;
  readonly #copy: SecondCopy | undefined;
  readonly #now: () => Date;
  readonly #app: string;
  readonly #listeners = new Set<() => void>();
  #records = new Map<string, RecordRow>();
  #drafts = new Map<string, DraftRow>();
  #counters: Counters = noCounters;
  #enrolment: Enrolment | undefined;
  #revoked = false;
  #trouble: Trouble | undefined;
  #copyState: 'whole' | 'behind' | 'none';
  #copyTail: Promise<void> = Promise.resolve();
  #tail: Promise<unknown> = Promise.resolve();
  #readOnly = false;

  constructor({ db, copy, now = () => new Date(), app = 'dev' }: JournalOptions) {
    this.#db = db;
    this.#copy = copy;
    this.#now = now;
    this.#app = app;
    this.#copyState = copy ? 'whole' : 'none';
  }

  /** Calls back after every change. */
  onChange(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  get readOnly(): boolean {
    return this.#readOnly;
  }
  get counters(): Counters {
    return this.#counters;
  }
  get enrolment(): Enrolment | undefined {
    return this.#enrolment;
  }
  get revoked(): boolean {
    return this.#revoked;
  }
  get trouble(): Trouble | undefined {
    return this.#trouble;
  }
  get secondCopy(): 'whole' | 'behind' | 'none' {
    return this.#copyState;
  }
  get draftCount(): number {
    return this.#drafts.size;
  }
  get rows(): readonly RecordRow[] {
    return [...this.#records.values()];
  }

  /** Reads everything back. A writer also mends what was damaged and brings the second copy up to date. */
  async open(readOnly = false): Promise<void> {
    this.#readOnly = readOnly;
    const spares = readOnly ? undefined : this.#spares(); // read while the database is
    await this.refresh();
    if (spares) await this.#mend(await spares);
    this.changed();
  }

  /** Reads the database again: for a tab that only shows what another one writes. */
  async refresh(): Promise<void> {
    await this.#db.read(['meta', 'drafts', 'records'], async (tx) => {
      const [records, drafts] = [await tx.all<RecordRow>('records'), await tx.all<DraftRow>('drafts')];
      this.#records = new Map(records.map((r) => [r.id, r]));
      this.#drafts = new Map(drafts.map((d) => [d.id, d]));
      this.#counters = (await tx.get<MetaRow<Counters>>('meta', 'counters'))?.value ?? noCounters;
      this.#enrolment = (await tx.get<MetaRow<Enrolment>>('meta', 'enrolment'))?.value;
      this.#revoked = (await tx.get<MetaRow<boolean>>('meta', 'revoked'))?.value ?? false;
    });
    this.changed();
  }

  /** Drafts whose text is whole, oldest first. */
  drafts<T>(): Draft<T>[] {
    return [...this.#drafts.values()]
      .filter((d) => readable(d.text))
      .sort((a, b) => a.savedAt - b.savedAt)
      .map((d) => ({ id: d.id, value: JSON.parse(d.text) as T, savedAt: d.savedAt }));
  }

  async saveDraft(id: string, value: unknown): Promise<void> {
    const text = JSON.stringify(value);
    if (text === undefined) throw new TypeError('a draft needs a value');
    await this.#inTurn(async () => {
      const row: DraftRow = { id, text, check: await sha256(text), savedAt: this.#now().getTime() };
      await this.write(['drafts'], (tx) => tx.put('drafts', row));
      this.#drafts.set(id, row);
      this.#mirror('put', `draft-${id}`, text);
    });
  }

  async dropDraft(id: string): Promise<void> {
    await this.#inTurn(async () => {
      await this.write(['drafts'], (tx) => tx.drop('drafts', id));
      this.#drafts.delete(id);
      this.#mirror('drop', `draft-${id}`);
    });
  }

  /** Seals several things in one transaction: all are durable on this phone when it resolves, or none. */
  async seal(things: readonly ToSeal[]): Promise<Entry[]> {
    return this.#inTurn(async () => {
      const who = this.#enrolment;
      if (!who) throw new NotSaved(trouble('notReady'));
      // A second tap on the same button finds the record there already.
      const known = things.map((t) => (t.options?.id === undefined ? undefined : this.#records.get(t.options.id)));
      if (known.length > 0 && known.every((k) => k !== undefined)) return known.map((k) => JSON.parse(k.text) as Entry);
      let seq = this.#counters.seq;
      const rows: RecordRow[] = [];
      const entries: Entry[] = [];
      for (const { kind, body, options = {} } of things) {
        seq += 1;
        const madeAt = options.madeAt ?? this.#now();
        const id = options.id ?? newId(madeAt.getTime());
        const head = {
          id,
          kind,
          subject: options.subject ?? id,
          ...(options.supersedes !== undefined && { supersedes: options.supersedes }),
          ...(options.why !== undefined && { why: options.why }),
          madeAt: localTime(madeAt),
          origin: options.origin ?? 'phone',
          person: who.person,
          device: who.device,
          seq,
          app: this.#app,
        };
        const { entry, text, sum } = await sealText(head, body);
        entries.push(entry);
        rows.push({ id, kind, seq, state: 'onPhone', text, sum });
      }
      const counters = { ...this.#counters, seq };
      const gone = things.flatMap((t) => t.options?.draft ?? []);
      await this.write(['records', 'drafts', 'meta'], async (tx) => {
        for (const row of rows) await tx.put('records', row);
        for (const id of gone) await tx.drop('drafts', id);
        await tx.put('meta', { key: 'counters', value: counters });
      });
      this.#counters = counters;
      for (const row of rows) this.#keepRow(row);
      for (const id of gone) {
        this.#drafts.delete(id);
        this.#mirror('drop', `draft-${id}`);
      }
      return entries;
    });
  }

  /** A sealed record on this phone. */
  record<B>(id: string): PhoneRecord<B> | undefined {
    const row = this.#records.get(id);
    return row && shown<B>(row);
  }

  /** Sealed records on this phone in the order they were made. */
  records<B>(kind?: string): PhoneRecord<B>[] {
    return this.rows
      .filter((r) => kind === undefined || r.kind === kind)
      .sort((a, b) => a.seq - b.seq)
      .map((r) => shown<B>(r));
  }

  /** Writes down what the server answered. A sum that is not ours is no receipt: the record stays where it was. */
  async settle(receipts: readonly Receipt[]): Promise<void> {
    await this.#inTurn(async () => {
      const at = this.#now().toISOString();
      const next: RecordRow[] = [];
      let sent = 0;
      for (const r of receipts) {
        const row = this.#records.get(r.id);
        if (!row || row.state === 'sent') continue;
        if ('sum' in r) {
          if (r.sum !== row.sum) continue;
          sent += 1;
          next.push({ ...plain(row), state: 'sent', sentAt: at, ...(r.flags?.length && { flags: r.flags }) });
        } else {
          next.push({ ...plain(row), state: 'needsYou', reason: r.reason, ...(r.errors && { errors: r.errors }) });
        }
      }
      if (next.length === 0) return;
      const counters =
        sent > 0 ? { ...this.#counters, sent: this.#counters.sent + sent, lastSentAt: at } : this.#counters;
      await this.write(['records', 'meta'], async (tx) => {
        for (const row of next) await tx.put('records', row);
        await tx.put('meta', { key: 'counters', value: counters });
      });
      this.#counters = counters;
      for (const row of next) this.#keepRow(row);
    });
  }

  /** Puts a record that needed somebody back among those that go by themselves. */
  async tryAgain(id: string): Promise<void> {
    await this.#inTurn(async () => {
      const row = this.#records.get(id);
      if (row?.state !== 'needsYou') return;
      const next: RecordRow = { ...plain(row), state: 'onPhone' };
      await this.write(['records'], (tx) => tx.put('records', next));
      this.#keepRow(next);
    });
  }

  /** Takes a record off the phone at a person's word. Only one that the server has, or keeps among its refusals, may go. */
  async letGo(id: string): Promise<void> {
    await this.#inTurn(async () => {
      const row = this.#records.get(id);
      if (!row) return;
      if (row.state === 'onPhone') throw new TypeError('a record that has not been sent does not leave the phone');
      await this.#dropRows([row]);
    });
  }

  /** Lets sent records leave that are older than so many days; at the end of a shift those too that recognise a craft. */
  async prune(keepDays: number = KEEP_SENT_DAYS, shiftEnded = false): Promise<number> {
    return this.#inTurn(async () => {
      const before = new Date(this.#now().getTime() - keepDays * 86_400_000).toISOString();
      const gone = this.rows.filter(
        (r) => r.state === 'sent' && r.sentAt !== undefined && (r.sentAt < before || (shiftEnded && personal(r))),
      );
      await this.#dropRows(gone);
      return gone.length;
    });
  }

  async setEnrolment(enrolment: Enrolment, keys: CryptoKeyPair | undefined): Promise<void> {
    await this.#inTurn(async () => {
      await this.write(['meta'], async (tx) => {
        await tx.put('meta', { key: 'enrolment', value: enrolment });
        await tx.put('meta', { key: 'revoked', value: false });
        if (keys) await tx.put('meta', { key: 'keys', value: keys });
      });
      this.#enrolment = enrolment;
      this.#revoked = false;
    });
  }

  async setRevoked(): Promise<void> {
    await this.#inTurn(async () => {
      await this.write(['meta'], (tx) => tx.put('meta', { key: 'revoked', value: true }));
      this.#revoked = true;
    });
  }

  async keys(): Promise<CryptoKeyPair | undefined> {
    return this.meta<CryptoKeyPair>('keys');
  }

  async meta<T>(key: string): Promise<T | undefined> {
    return this.#db.read(['meta'], async (tx) => (await tx.get<MetaRow<T>>('meta', key))?.value);
  }

  async setMeta(key: string, value: unknown): Promise<void> {
    await this.#inTurn(() => this.write(['meta'], (tx) => tx.put('meta', { key, value })));
  }

  /** One guarded write: refused in a tab that only shows; a failure stands as trouble until a write works again. */
  async write<T>(tables: Parameters<Db['write']>[0], work: (tx: Tx) => Promise<T>): Promise<T> {
    if (this.#readOnly) throw new NotSaved(trouble('readOnly'));
    try {
      const result = await this.#db.write(tables, work);
      this.#trouble = undefined;
      return result;
    } catch (error) {
      this.#trouble = error instanceof NotSaved ? { why: error.why, text: error.message } : trouble('failed');
      throw error;
    } finally {
      this.changed();
    }
  }

  /** Resolves when the second copy has caught up or given up. */
  async copied(): Promise<void> {
    await this.#copyTail;
  }

  #keepRow(row: RecordRow): void {
    this.#records.set(row.id, row);
    if (row.state === 'sent') this.#mirror('drop', `record-${row.id}`);
    else this.#mirror('put', `record-${row.id}`, row.text);
    this.changed();
  }

  async #dropRows(rows: readonly RecordRow[]): Promise<void> {
    if (rows.length === 0) return;
    await this.write(['records'], async (tx) => {
      for (const row of rows) await tx.drop('records', row.id);
    });
    for (const row of rows) {
      this.#records.delete(row.id);
      this.#mirror('drop', `record-${row.id}`);
    }
    this.changed();
  }

  /** Writes take turns, so that numbers of the device follow each other without gap. */
  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#tail.then(async () => {
      const result = await work();
      this.changed();
      return result;
    });
    this.#tail = turn.catch(() => undefined);
    return turn;
  }

  #mirror(op: 'put' | 'drop', name: string, text = ''): void {
    const copy = this.#copy;
    if (!copy) return;
    this.#copyTail = this.#copyTail.then(async () => {
      try {
        await (op === 'put' ? copy.put(name, text) : copy.drop(name));
      } catch {
        // The record itself is safe. That its spare is not is shown, and made good when the app next opens.
        this.#copyState = 'behind';
        this.changed();
      }
    });
  }

  /** What the second copy holds by name; nothing where it cannot be read. */
  async #spares(): Promise<ReadonlyMap<string, string>> {
    try {
      return new Map((await this.#copy?.all()) ?? []);
    } catch {
      this.#copyState = 'behind';
      return new Map();
    }
  }

  /** Compares the journal with itself and with the second copy, and mends each from the other. */
  async #mend(files: ReadonlyMap<string, string>): Promise<void> {
    const empty = this.#records.size === 0 && this.#drafts.size === 0 && this.#counters.seq === 0;
    const records: RecordRow[] = [];
    const drafts: DraftRow[] = [];
    if (empty) await this.#fromFiles(files, records, drafts);
    const waiting = [...this.#records.values()].filter((r) => r.state !== 'sent');
    const sound = await Promise.all(waiting.map(whole));
    for (const row of waiting.filter((_, i) => !sound[i])) {
      const spare = files.get(`record-${row.id}`);
      const mended = spare === undefined ? undefined : { ...row, text: spare };
      if (mended && (await whole(mended))) records.push(mended);
      else if (row.state !== 'needsYou') records.push({ ...row, state: 'needsYou', reason: 'damaged' });
    }
    for (const row of this.#drafts.values()) {
      if ((await sha256(row.text)) === row.check) continue;
      const spare = files.get(`draft-${row.id}`);
      if (spare !== undefined) drafts.push({ ...row, text: spare, check: await sha256(spare) });
      else if (readable(row.text)) drafts.push({ ...row, check: await sha256(row.text) });
      else this.#trouble = trouble('damaged');
    }
    if (records.length + drafts.length > 0) {
      const seq = Math.max(this.#counters.seq, ...records.map((r) => r.seq));
      await this.write(['records', 'drafts', 'meta'], async (tx) => {
        for (const row of records) await tx.put('records', row);
        for (const row of drafts) await tx.put('drafts', row);
        await tx.put('meta', { key: 'counters', value: { ...this.#counters, seq } });
      });
      await this.refresh();
    }
    this.#bringUpToDate(files);
  }

  async #fromFiles(files: ReadonlyMap<string, string>, records: RecordRow[], drafts: DraftRow[]): Promise<void> {
    for (const [name, text] of files) {
      if (name.startsWith('draft-')) {
        drafts.push({ id: name.slice(6), text, check: await sha256(text), savedAt: this.#now().getTime() });
      } else if (name.startsWith('record-')) {
        const { entry, sum } = await unseal(text);
        records.push({ id: entry.id, kind: entry.kind, seq: entry.seq ?? 0, state: 'onPhone', text, sum });
      }
    }
  }

  #bringUpToDate(files: ReadonlyMap<string, string>): void {
    const want = new Map<string, string>();
    for (const r of this.#records.values()) if (r.state !== 'sent') want.set(`record-${r.id}`, r.text);
    for (const d of this.#drafts.values()) want.set(`draft-${d.id}`, d.text);
    for (const [name, text] of want) if (files.get(name) !== text) this.#mirror('put', name, text);
    for (const name of files.keys()) if (!want.has(name)) this.#mirror('drop', name);
  }

  /** Tells everybody who shows what is kept; for what is kept beside the journal too. */
  changed(): void {
    for (const listener of this.#listeners) listener();
  }
}

function plain(row: RecordRow): Omit<RecordRow, 'reason' | 'errors' | 'sentAt' | 'flags'> {
  const { id, kind, seq, state, text, sum } = row;
  return { id, kind, seq, state, text, sum };
}

function readable(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

async function whole(row: RecordRow): Promise<boolean> {
  try {
    return (await unseal(row.text)).sum === row.sum;
  } catch {
    return false;
  }
}

/** Records that could recognise a craft or a household do not stay once they are sent and the shift is over. */
function personal(row: RecordRow): boolean {
  const body = (JSON.parse(row.text) as Entry<{ mark?: unknown; homeArea?: unknown } | undefined>).body;
  return body?.mark !== undefined || body?.homeArea !== undefined;
}

function shown<B>(row: RecordRow): PhoneRecord<B> {
  let entry: Entry<B>;
  try {
    entry = JSON.parse(row.text) as Entry<B>;
  } catch {
    // Damaged beyond reading: what the row itself knows is shown, the text stays as it is.
    entry = { id: row.id, kind: row.kind, subject: row.id, madeAt: '', origin: 'phone', seq: row.seq, body: {} as B };
  }
  const { state, sum, sentAt, reason, errors, flags } = row;
  return {
    entry,
    state,
    sum,
    ...(sentAt !== undefined && { sentAt }),
    ...(reason !== undefined && { reason }),
    ...(errors !== undefined && { errors }),
    ...(flags !== undefined && { flags }),
  };
}
