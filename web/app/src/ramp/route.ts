import { useSyncExternalStore } from 'react';
import { local } from '../local/index.ts';

/** Where the app is, kept in the address, so that the phone's own back works and a reopened app is where it was. */
export type Where =
  | 'home'
  | 'shift'
  | 'close'
  | 'craft'
  | 'boat'
  | 'boats'
  | 'wash'
  | 'order'
  | 'tally'
  | 'help'
  | 'incident'
  | 'verify'
  | 'settings'
  | 'state'
  | 'keyin'
  | 'practice';

export interface Route {
  readonly where: Where;
  readonly id: string;
  /** A sheet over it, such as the boater's card of a boat. */
  readonly sheet: string;
}

const AT = 'at';

export function routeOf(hash: string): Route {
  const [where = '', id = '', sheet = ''] = hash.replace(/^#\/?/, '').split('/');
  return { where: (where || 'home') as Where, id, sheet };
}

export function go(where: Where, id = '', sheet = ''): void {
  location.hash = `#/${[where, id, sheet].filter(Boolean).join('/')}`;
}

export function back(): void {
  history.back();
}

function subscribe(listener: () => void): () => void {
  const heard = () => {
    keepPlace(location.hash);
    listener();
  };
  addEventListener('hashchange', heard);
  return () => removeEventListener('hashchange', heard);
}

const placeOfWork = (hash: string) => (/^#\/(boat|wash)\//.test(hash) ? hash : '');

let kept = '';

/** Kept in the journal beside the work: the browser's simple storage reaches the disk seconds later, too late for a dying battery. */
function keepPlace(hash: string) {
  const place = placeOfWork(hash);
  if (place === kept) return;
  kept = place;
  // Only the place to come back to; where it cannot be kept, home is a fine place to start.
  local.remember(AT, place).catch(() => undefined);
}

/** A phone that died comes up where it was. To be called when the journal is open. */
export async function restore(): Promise<void> {
  if (location.hash) return;
  kept = placeOfWork((await local.recall<string>(AT)) ?? '');
  if (kept) history.replaceState(null, '', kept);
}

let seen = { hash: '', route: routeOf('') };
function now(): Route {
  if (location.hash !== seen.hash) seen = { hash: location.hash, route: routeOf(location.hash) };
  return seen.route;
}

export function useRoute(): Route {
  return useSyncExternalStore(subscribe, now);
}
