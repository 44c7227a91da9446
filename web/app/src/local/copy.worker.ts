/// <reference lib="webworker" />
// Keeps the second copy in the origin's private file system. It runs in a worker, because only there can a file be written
// and flushed in one go. Each record is a file of its own: the SHA-256 of the text, a line end, the text.
import { sha256 } from './id.ts';

export interface CopyCall {
  readonly n: number;
  readonly op: 'put' | 'drop' | 'all';
  readonly name?: string;
  readonly text?: string;
}

export interface CopyAnswer {
  readonly n: number;
  readonly error?: string;
  readonly files?: readonly (readonly [name: string, text: string])[];
}

const folder = 'second-copy';

async function directory(): Promise<FileSystemDirectoryHandle> {
  return (await navigator.storage.getDirectory()).getDirectoryHandle(folder, { create: true });
}

async function put(name: string, text: string): Promise<void> {
  const bytes = new TextEncoder().encode(`${await sha256(text)}\n${text}`);
  const file = await (await directory()).getFileHandle(name, { create: true });
  const handle = await file.createSyncAccessHandle();
  try {
    handle.truncate(0);
    if (handle.write(bytes, { at: 0 }) !== bytes.length) throw new Error('the file took only a part');
    handle.flush();
  } finally {
    handle.close();
  }
}

async function drop(name: string): Promise<void> {
  try {
    await (await directory()).removeEntry(name);
  } catch (error) {
    if (!(error instanceof DOMException && error.name === 'NotFoundError')) throw error;
  }
}

/** Every file whose sum fits; a torn or changed one is passed over. */
async function all(): Promise<[string, string][]> {
  const files: [string, string][] = [];
  for await (const [name, handle] of (await directory()).entries()) {
    if (handle.kind !== 'file') continue;
    const whole = await (await (handle as FileSystemFileHandle).getFile()).text();
    const text = whole.slice(65);
    if (whole[64] === '\n' && (await sha256(text)) === whole.slice(0, 64)) files.push([name, text]);
  }
  return files;
}

let last: Promise<unknown> = Promise.resolve();
self.onmessage = ({ data }: MessageEvent<CopyCall>) => {
  // One after the other: two writers of one file would get in each other's way.
  last = last.then(async () => {
    const answer: CopyAnswer = await run(data).catch((error: unknown) => ({ n: data.n, error: String(error) }));
    self.postMessage(answer);
  });
};

async function run({ n, op, name = '', text = '' }: CopyCall): Promise<CopyAnswer> {
  if (op === 'all') return { n, files: await all() };
  await (op === 'put' ? put(name, text) : drop(name));
  return { n };
}
