import { contentOf, lock } from '../copy/copy.ts';
import { engine } from '../engine/index.ts';
import { local } from '../local/index.ts';
import { sync } from '../sync/index.ts';
import { watchPhone } from './phone.ts';
import { changeOver, keepApp } from './updates.ts';

let tell: (opened: Promise<void>) => void;

/** Settles when the journal is open, or could not be opened. */
export const begun = new Promise<void>((resolve) => {
  tell = resolve;
});

/** Starts everything below the screens. The network is never waited for. */
export function startRamp(): void {
  tell(start());
  begun.catch(() => undefined); // shown by the gate before the screens
}

async function start(): Promise<void> {
  void watchPhone();
  const kept = keepApp().catch(() => undefined); // without it the app works as long as there is a network, and says so
  await local.open();
  // The screen comes first: the engine takes the processor for itself while it starts. At the very first visit the service worker
  // fetches it; starting it before would fetch it twice.
  if (navigator.serviceWorker?.controller) afterNextPaint(() => engine.start());
  else void kept.then(() => engine.start());
  sync.start();
}

function afterNextPaint(work: () => void): void {
  requestAnimationFrame(() => setTimeout(work));
}

// For somebody who helps over the shoulder, at the browser's console, and for the tests in a real browser.
const copy = async (passphrase: string) => lock(await contentOf(local), passphrase);
Object.assign(globalThis, { thwartRamp: { local, sync, engine, changeOver, copy } });
