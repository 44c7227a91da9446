import { useEffect, useSyncExternalStore } from 'react';
import { keepAwake, onPhoneState, type PhoneState, phoneState } from './phone.ts';
import { type AppState, appState, onAppState } from './updates.ts';

export function usePhone(): PhoneState {
  return useSyncExternalStore(onPhoneState, phoneState);
}

export function useApp(): AppState {
  return useSyncExternalStore(onAppState, appState);
}

/** Keeps the screen on while a component is shown and active is true. */
export function useAwake(active: boolean): void {
  useEffect(() => (active ? keepAwake() : undefined), [active]);
}
