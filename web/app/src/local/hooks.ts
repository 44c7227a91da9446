import { useEffect, useState, useSyncExternalStore } from 'react';
import { local } from './index.ts';
import type { Reference, Status } from './types.ts';

/** The status line; renders again whenever it changes. */
export function useStatus(): Status {
  return useSyncExternalStore(local.subscribe, local.status);
}

/** Current reference records of a kind: 'water', 'launch', 'unit', 'person', 'protocol' and what else the programme keeps. */
export function useReference<B = unknown>(kind: string): readonly Reference<B>[] {
  return useSyncExternalStore(local.subscribe, () => local.reference.list<B>(kind));
}

/** Whole seconds of a timer, looked at again four times a second while it runs. */
export function useTimer(id: string): { readonly seconds: number; readonly running: boolean } {
  const [, look] = useState(0);
  const timer = local.timers.get(id);
  const running = timer?.running ?? false;
  useEffect(() => {
    if (!running) return;
    const beat = setInterval(() => look((n) => n + 1), 250);
    return () => clearInterval(beat);
  }, [running]);
  useSyncExternalStore(local.subscribe, () => local.timers.get(id));
  return { seconds: Math.floor(local.timers.elapsedMs(id) / 1000), running };
}
