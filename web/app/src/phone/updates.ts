/** How the app itself stands on this phone. */
export interface AppState {
  /** Everything the app needs is on the phone: it opens without a network. */
  readonly worksOffline: boolean;
  /** A newer version is on the phone and waits for a moment when no boat is open. */
  readonly newVersion: boolean;
}

let state: AppState = { worksOffline: false, newVersion: false };
let registration: ServiceWorkerRegistration | undefined;
let registering: Promise<ServiceWorkerRegistration> | undefined;
let using = false;
const listeners = new Set<() => void>();

/** How often a waiting version is asked again to take over: one that the browser stops at that moment does not hear it. */
const ASK_EVERY_MS = 2000;

/** How often an app that stays open asks whether there is a newer version. */
const LOOK_EVERY_MS = 3_600_000;

export const appState = (): AppState => state;

export function onAppState(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function set(change: Partial<AppState>): void {
  state = { ...state, ...change };
  for (const listener of listeners) listener();
}

/**
 * Puts the app onto the phone and watches for newer versions; resolves when all of it is here. Without a service worker the
 * app works only with a network.
 */
export async function keepApp(): Promise<void> {
  const workers = navigator.serviceWorker;
  if (!workers) return;
  workers.addEventListener('controllerchange', () => {
    if (using) location.reload();
  });
  registering = workers.register('/ramp/sw.js', { scope: '/ramp/', updateViaCache: 'none' });
  registration = await registering;
  registration.addEventListener('updatefound', watch);
  watch();
  setInterval(() => void registration?.update().catch(() => undefined), LOOK_EVERY_MS);
  await workers.ready;
  set({ worksOffline: true });
}

/** A worker that is installed while another one serves this page is a new version; the first one is none. */
function watch(): void {
  const look = () => set({ newVersion: registration?.waiting != null && registration.active != null });
  registration?.installing?.addEventListener('statechange', look);
  look();
}

/** Asks the server for a newer version now. */
export async function lookForVersion(): Promise<void> {
  await registration?.update();
}

/**
 * Changes over to the waiting version and loads the page again. The caller makes sure that no boat is open; a page that is
 * not asked keeps its version until it is closed. Asked while the app still starts, it waits until the versions are known.
 */
export async function changeOver(): Promise<void> {
  using = true;
  const kept = await registering;
  if (!kept?.waiting) return;
  const ask = () => {
    if (kept.waiting) kept.waiting.postMessage('use');
    else location.reload(); // it has taken over, and this page was not told
  };
  ask();
  setInterval(ask, ASK_EVERY_MS); // ends with the page
}
