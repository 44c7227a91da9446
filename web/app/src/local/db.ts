import { phone } from '../messages/en-phone.ts';
import { NotSaved, type Trouble } from './types.ts';

/** The journal's tables. Each value is the name of its key. */
const TABLES = {
  meta: 'key',
  drafts: 'id',
  records: 'id',
  reference: 'id',
  photos: 'sha256',
  timers: 'id',
  known: 'hash',
} as const;

/** Of the tables; each version only adds some. */
const VERSION = 2;

export type Table = keyof typeof TABLES;

/** Runs requests of one transaction. Nothing else may be awaited between them: the browser would close it. */
export interface Tx {
  get<T>(table: Table, key: string): Promise<T | undefined>;
  all<T>(table: Table): Promise<T[]>;
  put(table: Table, value: object): Promise<void>;
  drop(table: Table, key: string): Promise<void>;
  clear(table: Table): Promise<void>;
}

export function trouble(why: Trouble['why']): Trouble {
  return { why, text: phone[`store.${why}`] };
}

function whyOf(error: unknown): Trouble['why'] {
  const name = error instanceof Error || error instanceof DOMException ? error.name : '';
  if (name === 'QuotaExceededError') return 'full';
  if (name === 'InvalidStateError') return 'closed';
  return 'failed';
}

/** The phone's database: every write is durable when its promise resolves, or it did not happen and the promise says so. */
export class Db {
  readonly #name: string;
  readonly #factory: IDBFactory;
  #db: IDBDatabase | undefined;

  constructor(name: string, factory: IDBFactory = indexedDB) {
    this.#name = name;
    this.#factory = factory;
  }

  async #open(): Promise<IDBDatabase> {
    if (this.#db) return this.#db;
    const request = this.#factory.open(this.#name, VERSION);
    request.onupgradeneeded = () => {
      const there = request.result.objectStoreNames;
      for (const [table, keyPath] of Object.entries(TABLES))
        if (!there.contains(table)) request.result.createObjectStore(table, { keyPath });
    };
    const db = await done(request);
    // A closed database is opened again at the next call; a newer program in another tab gets its turn at once.
    db.onclose = () => {
      this.#db = undefined;
    };
    db.onversionchange = () => this.close();
    this.#db = db;
    return db;
  }

  close(): void {
    this.#db?.close();
    this.#db = undefined;
  }

  async read<T>(tables: readonly Table[], work: (tx: Tx) => Promise<T>): Promise<T> {
    return this.#run('readonly', tables, work);
  }

  /** Runs work in one transaction and resolves when it is on the medium; it is wholly undone where anything fails. */
  async write<T>(tables: readonly Table[], work: (tx: Tx) => Promise<T>): Promise<T> {
    return this.#run('readwrite', tables, work);
  }

  async #run<T>(mode: IDBTransactionMode, tables: readonly Table[], work: (tx: Tx) => Promise<T>): Promise<T> {
    try {
      const db = await this.#open();
      const tx = db.transaction(tables, mode, { durability: 'strict' });
      const ended = new Promise<void>((resolve, reject) => {
        tx.oncomplete = () => resolve();
        tx.onabort = () => reject(tx.error ?? new DOMException('the transaction was given up', 'AbortError'));
      });
      ended.catch(() => undefined); // told below, after the work's own error
      let result: T;
      try {
        result = await work(calls(tx));
        // Asked for at once rather than when the browser finds the transaction idle; older engines lack the call.
        if (mode === 'readwrite') tx.commit?.();
      } catch (error) {
        try {
          tx.abort();
        } catch {
          // it has ended by itself, which is what was wanted
        }
        throw tx.error ?? error;
      }
      await ended;
      return result;
    } catch (error) {
      const why = whyOf(error);
      if (why === 'closed') this.close();
      throw new NotSaved(trouble(why), error);
    }
  }
}

function calls(tx: IDBTransaction): Tx {
  return {
    get: <T>(table: Table, key: string) => done(tx.objectStore(table).get(key)) as Promise<T | undefined>,
    all: <T>(table: Table) => done(tx.objectStore(table).getAll()) as Promise<T[]>,
    put: async (table, value) => {
      await done(tx.objectStore(table).put(value));
    },
    drop: async (table, key) => {
      await done(tx.objectStore(table).delete(key));
    },
    clear: async (table) => {
      await done(tx.objectStore(table).clear());
    },
  };
}

function done<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
