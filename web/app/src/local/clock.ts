import type { Db } from './db.ts';
import { localTime } from './id.ts';
import type { Journal } from './journal.ts';
import { advance, elapsedMs, type Reading, type Timer } from './timers.ts';

/** Timers of this phone, kept in the journal at every change and every few seconds while they run. */
export class Timers {
  readonly #db: Db;
  readonly #journal: Journal;
  readonly #session = crypto.randomUUID();
  #timers = new Map<string, Timer>();
  #hidden = false;
  #beat: ReturnType<typeof setInterval> | undefined;

  constructor(db: Db, journal: Journal) {
    this.#db = db;
    this.#journal = journal;
  }

  async load(): Promise<void> {
    const rows = await this.#db.read(['timers'], (tx) => tx.all<Timer>('timers'));
    this.#timers = new Map(rows.map((t) => [t.id, t]));
    if (typeof document !== 'undefined') {
      document.addEventListener('visibilitychange', () => {
        if (document.visibilityState === 'hidden') this.#hidden = true;
        this.#tick();
      });
    }
    this.#beat ??= setInterval(() => this.#tick(), 5000);
  }

  #read(): Reading {
    const hidden = this.#hidden || (typeof document !== 'undefined' && document.visibilityState === 'hidden');
    return { wallMs: Date.now(), monoMs: performance.now(), session: this.#session, wasHidden: hidden };
  }

  /** Starts a timer, or lets one that stands go on. */
  async start(id: string, about?: unknown): Promise<Timer> {
    const old = this.#timers.get(id);
    const last = this.#read();
    if (old) return this.#keep({ ...advance(old, last), running: true });
    return this.#keep({ id, about, startedAt: localTime(new Date()), running: true, countedMs: 0, last });
  }

  async pause(id: string): Promise<Timer | undefined> {
    const old = this.#timers.get(id);
    return old && this.#keep({ ...advance(old, this.#read()), running: false });
  }

  async drop(id: string): Promise<void> {
    await this.#journal.write(['timers'], (tx) => tx.drop('timers', id));
    this.#timers.delete(id);
    this.#journal.changed();
  }

  get(id: string): Timer | undefined {
    return this.#timers.get(id);
  }

  list(): readonly Timer[] {
    return [...this.#timers.values()];
  }

  /** Milliseconds that a timer has counted until now; 0 where there is none. */
  elapsedMs(id: string): number {
    const timer = this.#timers.get(id);
    return timer ? elapsedMs(timer, this.#read()) : 0;
  }

  async #keep(timer: Timer): Promise<Timer> {
    await this.#journal.write(['timers'], (tx) => tx.put('timers', timer));
    this.#timers.set(timer.id, timer);
    this.#journal.changed();
    return timer;
  }

  /** Writes running timers down, so that a kill loses no more than the time since. */
  #tick(): void {
    const now = this.#read();
    for (const timer of this.#timers.values()) {
      // A failed beat costs accuracy after a kill and nothing else; the journal shows the trouble.
      if (timer.running) this.#keep(advance(timer, now)).catch(() => undefined);
    }
    if (typeof document === 'undefined' || document.visibilityState === 'visible') this.#hidden = false;
  }
}
