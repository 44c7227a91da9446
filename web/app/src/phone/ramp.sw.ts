/// <reference lib="webworker" />
// The service worker of the ramp: everything the app is made of is fetched once, checked by its SHA-256, and served from then
// on without a network. A version is used whole or not at all.
const worker = self as unknown as ServiceWorkerGlobalScope;
/** Paths and the SHA-256 of what is behind them, put in by the build. */
declare const __PRECACHE__: readonly (readonly [path: string, sha256: string])[];
/** The same of files that are kept from their first use on: nobody has to load them. */
declare const __LATER__: readonly (readonly [path: string, sha256: string])[];
declare const __VERSION__: string;

const prefix = 'thwart-ramp-';
const name = prefix + __VERSION__;
const hashes = new Map(__PRECACHE__);
const later = new Map(__LATER__);
const shell = '/ramp/';
/** Kept beside the files of a version: which hash each has, so that the next version fetches only what differs. */
const list = '/ramp/.files';

worker.addEventListener('install', (event) => event.waitUntil(fill()));
worker.addEventListener('activate', (event) => event.waitUntil(takeOver()));
worker.addEventListener('fetch', (event) => {
  const answer = answerTo(event.request);
  if (answer) event.respondWith(answer);
});
worker.addEventListener('message', (event) => {
  if (event.data === 'use') event.waitUntil(worker.skipWaiting());
});

async function fill(): Promise<void> {
  const cache = await caches.open(name);
  const had = await earlier();
  const missing = [...hashes];
  const fetchNext = async (): Promise<void> => {
    for (let next = missing.pop(); next; next = missing.pop()) {
      const [path, hash] = next;
      const copy = await had(path, hash);
      await cache.put(path, copy ?? (await fetched(path, hash)));
    }
  };
  await Promise.all([1, 2, 3, 4].map(fetchNext));
  for (const [path, hash] of later) {
    const copy = await had(path, hash);
    if (copy) await cache.put(path, copy);
  }
  await cache.put(list, new Response(JSON.stringify([...hashes, ...later])));
}

/** Looks for a file in the versions that are here already. */
async function earlier(): Promise<(path: string, hash: string) => Promise<Response | undefined>> {
  const old: { cache: Cache; hashes: Map<string, string> }[] = [];
  for (const key of await caches.keys()) {
    if (!key.startsWith(prefix) || key === name) continue;
    const cache = await caches.open(key);
    const files = await cache.match(list);
    if (files) old.push({ cache, hashes: new Map((await files.json()) as [string, string][]) });
  }
  return async (path, hash) => {
    for (const { cache, hashes } of old) if (hashes.get(path) === hash) return cache.match(path);
    return undefined;
  };
}

/** A file from the network, taken only if it is the one that belongs to this version and not some network's sign-in page. */
async function fetched(path: string, hash: string): Promise<Response> {
  const response = await fetch(path, { cache: 'no-cache', redirect: 'error' });
  if (!response.ok) throw new Error(`${path}: status ${response.status}`);
  const bytes = await response.arrayBuffer();
  const sum = Array.from(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)), (b) =>
    b.toString(16).padStart(2, '0'),
  );
  if (sum.join('') !== hash) throw new Error(`${path} is not the file of version ${__VERSION__}`);
  const headers = new Headers(response.headers);
  headers.delete('Content-Encoding'); // the bytes are unpacked by now
  headers.delete('Content-Length');
  return new Response(bytes, { headers });
}

async function takeOver(): Promise<void> {
  for (const key of await caches.keys()) if (key.startsWith(prefix) && key !== name) await caches.delete(key);
  await worker.clients.claim();
}

/** An answer from this version's files; undefined leaves the request to the browser. */
function answerTo(request: Request): Promise<Response> | undefined {
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin) return undefined;
  if (request.mode === 'navigate') return url.pathname.startsWith(shell) ? fromCache(shell, request) : undefined;
  if (hashes.has(url.pathname)) return fromCache(url.pathname, request);
  const hash = later.get(url.pathname);
  return hash === undefined ? undefined : keptFrom(url.pathname, hash);
}

/** A file that is fetched when it is first wanted, and stays. */
async function keptFrom(path: string, hash: string): Promise<Response> {
  const cache = await caches.open(name);
  const found = await cache.match(path);
  if (found) return found;
  const fresh = await fetched(path, hash);
  // A phone without room still practises; it only fetches the file again the next time.
  await cache.put(path, fresh.clone()).catch(() => undefined);
  return fresh;
}

async function fromCache(path: string, request: Request): Promise<Response> {
  const found = await (await caches.open(name)).match(path);
  // The browser may have cleared the cache under pressure; then the network is the only place left.
  return found ?? fetch(request);
}

export {};
