import { useSyncExternalStore } from 'react';
import { local } from '../local/index.ts';
import { Sync, type SyncState } from './sync.ts';
import { httpTransport, type Transport } from './transport.ts';

let made: { device: string; transport: Transport } | undefined;

/** The transport of the phone as it is enrolled now. */
async function transport(): Promise<Transport | undefined> {
  const { enrolment } = local.status();
  if (!enrolment) return undefined;
  if (made?.device !== enrolment.device) {
    const keys = await local.journal.keys();
    if (!keys) return undefined;
    made = { device: enrolment.device, transport: httpTransport(enrolment.device, keys.privateKey, __APP_VERSION__) };
  }
  return made.transport;
}

export const sync = new Sync({ local, transport });

export function useSync(): SyncState {
  return useSyncExternalStore(sync.subscribe, sync.state);
}
