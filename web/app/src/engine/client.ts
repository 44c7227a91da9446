import type { FieldError } from '../local/types.ts';

export interface EngineCall {
  readonly n: number;
  readonly text: string;
}

export type EngineAnswer =
  | { readonly ready: true }
  | { readonly ended: string }
  | { readonly answers: readonly { readonly n: number; readonly text: string }[] };

/** What a worker must offer; a test gives its own. */
export interface EngineWorker {
  postMessage(calls: readonly EngineCall[]): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<EngineAnswer>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

/** The engine could not take its input: each field, what was given, what is accepted. */
export class EngineRefused extends Error {
  override readonly name = 'EngineRefused';
  readonly fields: readonly FieldError[];
  constructor(fields: readonly FieldError[]) {
    super(fields.map((f) => `${f.field}: ${f.value ?? ''} (accepted: ${f.accepted})`).join('; '));
    this.fields = fields;
  }
}

/** The engine met a defect or could not be started. Nothing was decided: show that nothing is known. */
export class EngineFailed extends Error {
  override readonly name = 'EngineFailed';
  /** Whether it said what was wrong, stopped, or gave no answer in time. */
  readonly how: 'said' | 'stopped' | 'slow';
  constructor(message: string, how: 'said' | 'stopped' | 'slow' = 'said') {
    super(message);
    this.how = how;
  }
}

interface Pending {
  readonly n: number;
  readonly op: string;
  readonly text: string;
  readonly resolve: (out: unknown) => void;
  readonly reject: (error: Error) => void;
  tries: number;
}

type OpTable<T> = { [K in keyof T]: { in: unknown; out: unknown } };

/** A call that takes longer has hung: the slowest takes well under a second on an old phone. */
const HUNG_MS = 30_000;

/**
 * Calls the engine in its worker. Calls of one turn of the page go over together. Where the worker dies it is started again and the
 * open calls are put once more. Whenever it starts it is first told what it has to remember (operations whose name ends in .load).
 */
export class Engine<Ops extends OpTable<Ops>> {
  readonly #make: () => EngineWorker;
  readonly #hungMs: number;
  readonly #pending = new Map<number, Pending>();
  readonly #told = new Map<string, string>();
  #worker: EngineWorker | undefined;
  #outgoing: Pending[] = [];
  #watch: ReturnType<typeof setTimeout> | undefined;
  #n = 0;

  constructor(make: () => EngineWorker, hungMs = HUNG_MS) {
    this.#make = make;
    this.#hungMs = hungMs;
  }

  /** Asks the engine. Rejects with EngineRefused where the input cannot be taken, with EngineFailed where it broke. */
  call<K extends keyof Ops & string>(op: K, input: Ops[K]['in']): Promise<Ops[K]['out']> {
    const text = JSON.stringify({ op, in: input });
    if (op.endsWith('.load')) this.#told.set(op, text);
    return new Promise<unknown>((resolve, reject) => {
      this.#n += 1;
      this.#put({ n: this.#n, op, text, resolve, reject, tries: 0 });
    });
  }

  /** Has the engine remember something, now where it runs, and else as soon as it starts. */
  remember<K extends keyof Ops & `${string}.load`>(op: K, input: Ops[K]['in']): void {
    if (this.#worker) this.call(op, input).catch(() => undefined);
    else this.#told.set(op, JSON.stringify({ op, in: input }));
  }

  /** Starts the engine before it is needed. */
  start(): void {
    this.#worker ??= this.#begin([]);
  }

  #put(call: Pending): void {
    this.#pending.set(call.n, call);
    if (this.#outgoing.length === 0) queueMicrotask(() => this.#flush());
    this.#outgoing.push(call);
  }

  #flush(): void {
    const calls = this.#outgoing;
    this.#outgoing = [];
    this.#worker ??= this.#begin(calls);
    this.#worker.postMessage(calls.map(({ n, text }) => ({ n, text })));
    this.#look();
  }

  /** Starts a worker, and tells it what it has to remember and is not about to be told anyway. Nobody waits for these answers. */
  #begin(next: readonly Pending[]): EngineWorker {
    const worker = this.#make();
    const told = [...this.#told].filter(([op]) => next.every((c) => c.op !== op));
    if (told.length > 0) worker.postMessage(told.map(([, text]) => ({ n: 0, text })));
    worker.onmessage = ({ data }) => {
      if (worker !== this.#worker) return;
      if ('answers' in data) for (const a of data.answers) this.#settle(a.n, a.text);
      else if ('ended' in data) this.#restart(data.ended);
    };
    worker.onerror = (event) => {
      if (worker === this.#worker) this.#restart(event.message);
    };
    return worker;
  }

  #settle(n: number, text: string): void {
    const call = this.#pending.get(n);
    if (!call) return;
    this.#pending.delete(n);
    this.#look();
    const reply = JSON.parse(text) as { out?: unknown; errors?: FieldError[]; failed?: string };
    if (reply.errors) call.reject(new EngineRefused(reply.errors));
    else if (reply.failed !== undefined) call.reject(new EngineFailed(reply.failed));
    else call.resolve(reply.out);
  }

  #restart(why: string, how: 'stopped' | 'slow' = 'stopped'): void {
    this.#worker?.terminate();
    this.#worker = undefined;
    const open = [...this.#pending.values()];
    this.#pending.clear();
    this.#outgoing = [];
    clearTimeout(this.#watch);
    const again: Pending[] = [];
    for (const call of open) {
      call.tries += 1;
      if (call.tries > 1) call.reject(new EngineFailed(`the engine stopped: ${why}`, how));
      else again.push(call);
    }
    if (again.length === 0) return; // started anew by the next call, so that a broken engine is not started for ever
    for (const call of again) this.#put(call);
  }

  /** Watches for an answer as long as one is owed. */
  #look(): void {
    clearTimeout(this.#watch);
    if (this.#pending.size === 0) return;
    this.#watch = setTimeout(() => this.#restart(`no answer within ${this.#hungMs / 1000} s`, 'slow'), this.#hungMs);
  }
}
