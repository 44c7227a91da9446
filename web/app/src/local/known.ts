import type { Db } from './db.ts';
import type { Journal } from './journal.ts';

/** A craft by its mark, with what it had when it was last met. */
export interface KnownCraft {
  readonly hash: string;
  readonly setup: unknown;
}

/** The key of a season's marks as it lies in the database: not in the clear. */
interface LockedKey {
  readonly season: string;
  readonly lock: CryptoKey;
  readonly iv: Uint8Array<ArrayBuffer>;
  readonly locked: ArrayBuffer;
}

const toBytes = (base64: string) => Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
const toBase64 = (bytes: ArrayBuffer) => btoa(String.fromCharCode(...new Uint8Array(bytes)));

/**
 * The programme's key for marks and the craft of this season, so that a phone knows a craft again that another phone met. They are read
 * one at a time and never held in memory as a list. A new season has a new key: what was known under the old one goes.
 */
export class Known {
  readonly #db: Db;
  readonly #journal: Journal;

  constructor(db: Db, journal: Journal) {
    this.#db = db;
    this.#journal = journal;
  }

  /** The key in base64, as the engine wants it; undefined until the office has given one. */
  async key(): Promise<string | undefined> {
    const kept = await this.#journal.meta<LockedKey>('markKey');
    if (!kept) return undefined;
    return toBase64(await crypto.subtle.decrypt({ name: 'AES-GCM', iv: kept.iv }, kept.lock, kept.locked));
  }

  async season(): Promise<string | undefined> {
    return (await this.#journal.meta<LockedKey>('markKey'))?.season;
  }

  /** Keeps a season's key, locked by a key that cannot be taken out of this browser. */
  async setKey(season: string, key: string): Promise<void> {
    if ((await this.season()) === season && (await this.key()) === key) return;
    const lock = await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const locked = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, lock, toBytes(key));
    const value: LockedKey = { season, lock, iv, locked };
    await this.#journal.write(['known', 'meta'], async (tx) => {
      await tx.clear('known');
      await tx.put('meta', { key: 'knownAfter', value: 0 });
      await tx.put('meta', { key: 'markKey', value });
    });
  }

  /** Where to ask the server on from. */
  async after(): Promise<number> {
    return (await this.#journal.meta<number>('knownAfter')) ?? 0;
  }

  async take(craft: readonly KnownCraft[], after: number): Promise<void> {
    await this.#journal.write(['known', 'meta'], async (tx) => {
      for (const c of craft) await tx.put('known', c);
      await tx.put('meta', { key: 'knownAfter', value: after });
    });
  }

  /** What a craft had when it was last met by any phone that has sent; undefined for one that was not. */
  async setup(hash: string): Promise<unknown> {
    return (await this.#db.read(['known'], (tx) => tx.get<KnownCraft>('known', hash)))?.setup;
  }
}
