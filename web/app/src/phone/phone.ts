import type { Status } from '../local/index.ts';
import type { Values } from '../messages/format.ts';

/** What can be known about the phone itself. A value that the browser does not tell is undefined, never a guess. */
export interface PhoneState {
  /** The browser has promised not to clear this app's storage by itself. */
  readonly persistent?: boolean;
  readonly freeBytes?: number;
  readonly usedBytes?: number;
  /** From 0 to 1. */
  readonly battery?: number;
  readonly charging?: boolean;
  /** Opened from the home screen. */
  readonly installed: boolean;
  /** The browser offers to put the app onto the home screen. */
  readonly canInstall: boolean;
  readonly online: boolean;
}

interface Battery extends EventTarget {
  readonly level: number;
  readonly charging: boolean;
}
interface InstallPrompt extends Event {
  prompt(): Promise<unknown>;
  readonly userChoice: Promise<{ outcome: 'accepted' | 'dismissed' }>;
}

let state: PhoneState = { installed: false, canInstall: false, online: true };
let offer: InstallPrompt | undefined;
const listeners = new Set<() => void>();

export const phoneState = (): PhoneState => state;

export function onPhoneState(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function set(change: Partial<PhoneState>): void {
  state = { ...state, ...change };
  for (const listener of listeners) listener();
}

/** Begins to watch the phone. The offer to install comes early in a page's life, so this runs first. */
export async function watchPhone(): Promise<void> {
  addEventListener('beforeinstallprompt', (event) => {
    event.preventDefault(); // shown as a step of the set-up, not as a bar over an inspection
    offer = event as InstallPrompt;
    set({ canInstall: true });
  });
  addEventListener('appinstalled', () => set({ installed: true, canInstall: false }));
  addEventListener('online', () => set({ online: true }));
  addEventListener('offline', () => set({ online: false }));
  set({ installed: matchMedia('(display-mode: standalone)').matches, online: navigator.onLine });
  await Promise.all([lookAtStorage(), watchBattery()]);
}

export async function lookAtStorage(): Promise<void> {
  const { quota, usage } = (await navigator.storage?.estimate?.().catch(() => undefined)) ?? {};
  const persistent = await navigator.storage?.persisted?.().catch(() => undefined);
  set({
    ...(persistent !== undefined && { persistent }),
    ...(quota !== undefined && usage !== undefined && { freeBytes: Math.max(0, quota - usage), usedBytes: usage }),
  });
}

/** Asks the browser to keep what is here. Its answer is shown as it is: some never say yes before the app is installed. */
export async function askToPersist(): Promise<boolean> {
  const yes = (await navigator.storage?.persist?.().catch(() => false)) ?? false;
  set({ persistent: yes });
  return yes;
}

/** Shows the browser's own offer to install. */
export async function install(): Promise<boolean> {
  if (!offer) return false;
  const asked = offer;
  offer = undefined;
  set({ canInstall: false });
  await asked.prompt();
  return (await asked.userChoice).outcome === 'accepted';
}

async function watchBattery(): Promise<void> {
  const get = (navigator as { getBattery?: () => Promise<Battery> }).getBattery;
  const battery = await get?.call(navigator).catch(() => undefined);
  if (!battery) return;
  const look = () => set({ battery: battery.level, charging: battery.charging });
  for (const name of ['levelchange', 'chargingchange']) battery.addEventListener(name, look);
  look();
}

/** Keeps the screen on until the returned function is called; taken again when the app comes back to the front. */
export function keepAwake(): () => void {
  let lock: WakeLockSentinel | undefined;
  let ended = false;
  const take = async () => {
    if (ended || document.visibilityState !== 'visible' || !navigator.wakeLock) return;
    try {
      const got = await navigator.wakeLock.request('screen');
      if (ended) await got.release();
      else lock = got;
    } catch {
      // a phone that saves power may refuse; the screen then goes dark as usual and timers go on
    }
  };
  document.addEventListener('visibilitychange', take);
  void take();
  return () => {
    ended = true;
    document.removeEventListener('visibilitychange', take);
    void lock?.release();
  };
}

/** Something that whoever opens a shift should know; `warn.` and its code say what it means and what to do. */
export interface Warning {
  readonly code:
    | 'battery'
    | 'space'
    | 'notPersistent'
    | 'oldRules'
    | 'neverFetched'
    | 'lease'
    | 'revoked'
    | 'clock'
    | 'secondCopy';
  /** What the message asks for. */
  readonly values: Values;
}

const LOW_BATTERY = 0.3;
const LOW_SPACE_BYTES = 200_000_000;
const OLD_RULES_DAYS = 14;
const CLOCK_OFF_MS = 120_000;
const DAY_MS = 86_400_000;

/** What somebody who opens a shift should know about this phone. Nothing here stops the work. */
export function warnings(status: Status, phone: PhoneState, now: number = Date.now()): Warning[] {
  const found: Warning[] = [];
  const warn = (code: Warning['code'], values: Values = {}) => found.push({ code, values });
  if (status.revoked) warn('revoked');
  if (phone.battery !== undefined && phone.battery < LOW_BATTERY && !phone.charging) {
    warn('battery', { percent: Math.round(phone.battery * 100) });
  }
  if (phone.freeBytes !== undefined && phone.freeBytes < LOW_SPACE_BYTES) {
    warn('space', { mb: Math.round(phone.freeBytes / 1e6) });
  }
  if (phone.persistent === false) warn('notPersistent');
  if (status.enrolment && status.referenceAt === undefined) warn('neverFetched');
  else if (status.referenceAt !== undefined) {
    const days = Math.floor((now - Date.parse(status.referenceAt)) / DAY_MS);
    if (days > OLD_RULES_DAYS) warn('oldRules', { days });
  }
  if (status.enrolment && Date.parse(status.enrolment.leaseUntil) < now) warn('lease');
  if (status.skewMs !== undefined && Math.abs(status.skewMs) > CLOCK_OFF_MS) {
    warn('clock', {
      minutes: Math.round(Math.abs(status.skewMs) / 60_000),
      side: status.skewMs > 0 ? 'ahead' : 'behind',
    });
  }
  if (status.secondCopy === 'behind') warn('secondCopy');
  return found;
}
