import { type Db, trouble } from './db.ts';
import { sha256 } from './id.ts';
import type { Journal } from './journal.ts';
import { bare } from './jpeg.ts';
import type { PhotoRow } from './rows.ts';
import { NotSaved, type PhotoKept, type Reason } from './types.ts';

/** Limits of a photo as it is kept: the long edge in pixels, and bytes. */
export const PHOTO_EDGE_PX = 1600;
export const PHOTO_BYTES = 350_000;

/** Below this much free space records are still taken and photos are not. */
export const PHOTO_RESERVE_BYTES = 20_000_000;

/** A picture that has been drawn anew: nothing of the camera's own file is left in it, neither place nor device. */
export interface Drawn {
  readonly data: ArrayBuffer;
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * Draws a picture anew at most 1600 px long and 350 kB large. Drawing leaves every tag of the original behind.
 */
export async function redraw(picture: Blob): Promise<Drawn> {
  const bitmap = await createImageBitmap(picture, { imageOrientation: 'from-image' });
  try {
    let scale = Math.min(1, PHOTO_EDGE_PX / Math.max(bitmap.width, bitmap.height));
    for (;;) {
      const width = Math.max(1, Math.round(bitmap.width * scale));
      const height = Math.max(1, Math.round(bitmap.height * scale));
      const canvas = new OffscreenCanvas(width, height);
      const context = canvas.getContext('2d');
      if (!context) throw new Error('this browser cannot draw pictures');
      context.drawImage(bitmap, 0, 0, width, height);
      for (const quality of [0.7, 0.55, 0.4]) {
        const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality });
        if (blob.size <= PHOTO_BYTES) return { data: await plain(blob), widthPx: width, heightPx: height };
      }
      scale *= 0.75;
    }
  } finally {
    bitmap.close();
  }
}

async function plain(blob: Blob): Promise<ArrayBuffer> {
  return bare(new Uint8Array(await blob.arrayBuffer())).buffer;
}

/** Photos of this phone. Their records are sealed apart; a record never waits for its picture. */
export class Photos {
  readonly #db: Db;
  readonly #journal: Journal;
  #rows = new Map<string, Omit<PhotoRow, 'data'>>();
  #paused = false;
  #sent = 0;

  constructor(db: Db, journal: Journal) {
    this.#db = db;
    this.#journal = journal;
  }

  /** How many the server has confirmed, those that have left the phone too. */
  get sent(): number {
    return this.#sent;
  }

  get paused(): boolean {
    return this.#paused;
  }

  async load(): Promise<void> {
    const rows = await this.#db.read(['photos'], (tx) => tx.all<PhotoRow>('photos'));
    this.#rows = new Map(rows.map(({ data: _, ...rest }) => [rest.sha256, rest]));
    this.#sent = (await this.#journal.meta<number>('photosSent')) ?? 0;
    await this.lookAtSpace();
  }

  /** Asks the browser how much room is left. */
  async lookAtSpace(): Promise<void> {
    const { quota, usage } = (await globalThis.navigator?.storage?.estimate?.().catch(() => undefined)) ?? {};
    if (quota !== undefined && usage !== undefined) this.#paused = quota - usage < PHOTO_RESERVE_BYTES;
  }

  /** Draws a picture anew and keeps it. */
  async add(picture: Blob): Promise<PhotoKept> {
    await this.lookAtSpace();
    if (this.#paused) throw new NotSaved(trouble('photosPaused'));
    const { data, widthPx, heightPx } = await redraw(picture);
    const name = await sha256(data);
    const old = this.#rows.get(name);
    if (old) return old;
    const takenAt = new Date().toISOString();
    const head = {
      sha256: name,
      bytes: data.byteLength,
      type: 'image/jpeg',
      widthPx,
      heightPx,
      takenAt,
      state: 'onPhone',
    } as const;
    try {
      await this.#journal.write(['photos'], (tx) => tx.put('photos', { ...head, data }));
    } catch (error) {
      if (error instanceof NotSaved && error.why === 'full') this.#paused = true;
      throw error;
    }
    this.#rows.set(name, head);
    this.#journal.changed();
    return head;
  }

  list(): readonly PhotoKept[] {
    return [...this.#rows.values()];
  }

  waiting(): readonly PhotoKept[] {
    return this.list().filter((p) => p.state === 'onPhone');
  }

  async data(name: string): Promise<ArrayBuffer | undefined> {
    return (await this.#db.read(['photos'], (tx) => tx.get<PhotoRow>('photos', name)))?.data;
  }

  /** An address for an img element; to be given back with URL.revokeObjectURL. */
  async url(name: string): Promise<string | undefined> {
    const data = await this.data(name);
    return data && URL.createObjectURL(new Blob([data], { type: 'image/jpeg' }));
  }

  /** Takes a photo away again that belongs to nothing sealed. */
  async drop(name: string): Promise<void> {
    await this.#journal.write(['photos'], (tx) => tx.drop('photos', name));
    this.#rows.delete(name);
    this.#journal.changed();
  }

  /** Writes down that the server has the photo, or why it will not take it. */
  async settle(name: string, outcome: { sent: true } | { reason: Reason }): Promise<void> {
    const head = this.#rows.get(name);
    if (!head) return;
    const sent = 'sent' in outcome;
    const next: Omit<PhotoRow, 'data'> = sent
      ? { ...head, state: 'sent', sentAt: new Date().toISOString() }
      : { ...head, state: 'needsYou', reason: outcome.reason };
    await this.#journal.write(['photos', 'meta'], async (tx) => {
      const data = (await tx.get<PhotoRow>('photos', name))?.data;
      await tx.put('photos', { ...next, ...(data && { data }) });
      if (!sent) return;
      await tx.put('meta', { key: 'photosSent', value: this.#sent + 1 });
    });
    if (sent) this.#sent += 1;
    this.#rows.set(name, next);
    this.#journal.changed();
  }

  async tryAgain(name: string): Promise<void> {
    const head = this.#rows.get(name);
    if (head?.state !== 'needsYou') return;
    const { reason: _, ...rest } = head;
    const next = { ...rest, state: 'onPhone' } as const;
    await this.#journal.write(['photos'], async (tx) => {
      const data = (await tx.get<PhotoRow>('photos', name))?.data;
      await tx.put('photos', { ...next, ...(data && { data }) });
    });
    this.#rows.set(name, next);
    this.#journal.changed();
  }

  /** Lets sent photos leave that are older than so many days. */
  async prune(keepDays: number): Promise<void> {
    const before = new Date(Date.now() - keepDays * 86_400_000).toISOString();
    for (const p of [...this.#rows.values()]) {
      if (p.state === 'sent' && p.sentAt !== undefined && p.sentAt < before) await this.drop(p.sha256);
    }
  }
}
