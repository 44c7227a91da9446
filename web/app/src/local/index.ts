// What the phone keeps: `local` is the one instance that screens use; `useStatus` and its like are its hooks.
import { fileCopy } from './copy.ts';
import { Local } from './local.ts';

export { newId } from './id.ts';
export { KEEP_SENT_DAYS } from './journal.ts';
export { Local } from './local.ts';
export type { Timer } from './timers.ts';
export * from './types.ts';

/** One tab writes. The lock is held as long as the tab lives; the next tab gets it when this one is gone. */
function mayWrite(whenFree: () => void): Promise<boolean> {
  if (!navigator.locks) return Promise.resolve(true);
  const name = 'thwart-ramp-writer';
  const forLife = () => new Promise<never>(() => undefined);
  return new Promise((resolve) => {
    void navigator.locks.request(name, { ifAvailable: true }, (lock) => {
      resolve(lock !== null);
      if (lock) return forLife();
      void navigator.locks.request(name, () => {
        whenFree();
        return forLife();
      });
      return undefined;
    });
  });
}

export const local = new Local({ copy: fileCopy(), app: __APP_VERSION__, mayWrite });
