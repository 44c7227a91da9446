// Sending and fetching: `sync` runs by itself once started; `useSync` shows how the link stands.
export { canEnrol, demoCode, enrol, type ServerState, serverState } from './enrol.ts';
export { sync, useSync } from './link.ts';
export type { SyncState } from './sync.ts';
