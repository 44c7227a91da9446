import { type Cause, causes, type Reason } from '../local/types.ts';
import type { Say } from '../messages/index.tsx';
import type { SyncState } from '../sync/index.ts';

/** What keeps records from being sent. What the server says of it is in the server's own words. */
export function inTheWay(say: Say, { why, text = '' }: SyncState): string {
  if (why === 'storage') return say('store.failed');
  return why === 'noSignal' || why === 'notTheServer' ? say(`link.${why}`) : text;
}

const isCause = (reason: Reason): reason is Cause => causes.some((c) => c === reason);

/** Why a record or a picture was set aside. */
export const reasonIn = (say: Say, reason: Reason = ''): string => (isCause(reason) ? say(`cause.${reason}`) : reason);
