import { useSyncExternalStore } from 'react';
import { type Language, languages } from '../messages/index.tsx';
import type { Units } from '../shared/units.ts';

/** How this phone shows things. Nothing of it is a record, so it lies in the browser's small store. */
export interface Prefs {
  readonly hand: 'right' | 'left';
  readonly sun: boolean;
  readonly units: Units;
  readonly language: Language;
  readonly sound: boolean;
  readonly turned: boolean; // the walk goes the other way round at this ramp
}

const usual: Prefs = { hand: 'right', sun: false, units: 'metric', language: 'en', sound: true, turned: false };
const KEY = 'thwart-ramp-prefs';
const listeners = new Set<() => void>();
let now: Prefs = read();

function read(): Prefs {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Prefs>;
    return {
      ...usual,
      ...kept,
      language: languages.includes(kept.language as Language) ? (kept.language as Language) : 'en',
    };
  } catch {
    return usual; // a damaged setting is no reason not to open
  }
}

export function setPrefs(change: Partial<Prefs>): void {
  now = { ...now, ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(now));
  } catch {
    // The setting holds until the app is closed; records are kept elsewhere.
  }
  for (const l of listeners) l();
}

export function usePrefs(): Prefs {
  return useSyncExternalStore(
    (l) => {
      listeners.add(l);
      return () => listeners.delete(l);
    },
    () => now,
  );
}
