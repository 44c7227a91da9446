import type { Db } from './db.ts';
import type { Journal } from './journal.ts';
import type { ReferenceRow } from './rows.ts';
import type { Reference } from './types.ts';

/** The programme's own records as the phone last had them: waters, launches, wash units, people, protocols and so on. */
export class ReferenceData {
  readonly #db: Db;
  readonly #journal: Journal;
  #entries = new Map<string, ReferenceRow>();
  #heads = new Map<string, readonly Reference[]>();
  #subjects = new Map<string, Reference>();
  #cursor = 0;
  #at: string | undefined;

  constructor(db: Db, journal: Journal) {
    this.#db = db;
    this.#journal = journal;
  }

  /** Where to ask the server on from. */
  get cursor(): number {
    return this.#cursor;
  }
  /** When the server was last asked with success. */
  get at(): string | undefined {
    return this.#at;
  }

  async load(): Promise<void> {
    const rows = await this.#db.read(['reference'], (tx) => tx.all<ReferenceRow>('reference'));
    this.#entries = new Map(rows.map((r) => [r.id, r]));
    const mark = await this.#journal.meta<{ cursor: number; at: string }>('reference');
    this.#cursor = mark?.cursor ?? 0;
    this.#at = mark?.at;
    this.#sum();
  }

  /** Takes a stretch of changes; the cursor moves in the same transaction, so that none is missed or asked for twice. */
  async take(rows: readonly ReferenceRow[], cursor: number, at: string): Promise<void> {
    await this.#journal.write(['reference', 'meta'], async (tx) => {
      for (const row of rows) await tx.put('reference', row);
      await tx.put('meta', { key: 'reference', value: { cursor, at } });
    });
    for (const row of rows) this.#entries.set(row.id, row);
    this.#cursor = cursor;
    this.#at = at;
    if (rows.length > 0) this.#sum();
    this.#journal.changed();
  }

  /** Current records of a kind; the same array as long as nothing has come. */
  list<B = unknown>(kind: string): readonly Reference<B>[] {
    return (this.#heads.get(kind) ?? none) as readonly Reference<B>[];
  }

  get<B = unknown>(subject: string): Reference<B> | undefined {
    return this.#subjects.get(subject) as Reference<B> | undefined;
  }

  #sum(): void {
    const bySubject = new Map<string, ReferenceRow[]>();
    for (const row of this.#entries.values()) {
      const list = bySubject.get(row.subject);
      if (list) list.push(row);
      else bySubject.set(row.subject, [row]);
    }
    const heads = new Map<string, Reference[]>();
    this.#subjects = new Map();
    for (const rows of bySubject.values()) {
      const ref = headOf(rows);
      if (!ref) continue;
      this.#subjects.set(ref.subject, ref);
      const list = heads.get(ref.kind);
      if (list) list.push(ref);
      else heads.set(ref.kind, [ref]);
    }
    this.#heads = heads;
  }
}

const none: readonly Reference[] = [];

/**
 * The entry that says what a subject is now: of those that no other supersedes the latest, with the phone's clock error
 * taken out; the larger id at one instant. It is the server's order, so that both show the same.
 */
export function headOf(rows: readonly ReferenceRow[]): Reference | undefined {
  const superseded = new Set(rows.map((r) => r.supersedes));
  const top = rows.filter((r) => !superseded.has(r.id));
  const candidates = top.length > 0 ? top : rows;
  let best = candidates[0];
  for (const row of candidates) {
    if (best === undefined || at(row) > at(best) || (at(row) === at(best) && row.id > best.id)) best = row;
  }
  if (best === undefined || best.removed) return undefined;
  const { subject, kind, id, madeAt, body } = best;
  return { subject, kind, entry: id, madeAt, body, conflict: candidates.length > 1 };
}

function at(row: ReferenceRow): number {
  return Date.parse(row.madeAt) - (row.skewMs ?? 0);
}
