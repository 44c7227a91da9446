import type { CopyAnswer, CopyCall } from './copy.worker.ts';

/** A second place on the phone for what has not been sent. It may fail without any save failing: it is a spare. */
export interface SecondCopy {
  put(name: string, text: string): Promise<void>;
  drop(name: string): Promise<void>;
  all(): Promise<readonly (readonly [name: string, text: string])[]>;
}

/** The second copy in the origin's private file system; undefined where the browser has none. */
export function fileCopy(): SecondCopy | undefined {
  if (typeof Worker === 'undefined' || !navigator.storage?.getDirectory) return undefined;
  const worker = new Worker(new URL('./copy.worker.ts', import.meta.url), { type: 'module' });
  const waiting = new Map<number, { resolve: (a: CopyAnswer) => void; reject: (e: Error) => void }>();
  let n = 0;
  let broken: Error | undefined;
  worker.onmessage = ({ data }: MessageEvent<CopyAnswer>) => {
    const call = waiting.get(data.n);
    waiting.delete(data.n);
    if (data.error === undefined) call?.resolve(data);
    else call?.reject(new Error(data.error));
  };
  worker.onerror = (event) => {
    broken = new Error(`the second copy stopped: ${event.message}`);
    for (const call of waiting.values()) call.reject(broken);
    waiting.clear();
  };
  const call = (op: CopyCall['op'], name?: string, text?: string) =>
    new Promise<CopyAnswer>((resolve, reject) => {
      if (broken) return reject(broken);
      n += 1;
      waiting.set(n, { resolve, reject });
      worker.postMessage({ n, op, ...(name !== undefined && { name }), ...(text !== undefined && { text }) });
    });
  return {
    put: async (name, text) => {
      await call('put', name, text);
    },
    drop: async (name) => {
      await call('drop', name);
    },
    all: async () => (await call('all')).files ?? [],
  };
}
