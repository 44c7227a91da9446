import { useEffect } from 'react';
import type { Key } from '../engine/types.ts';
import { useReference } from '../local/hooks.ts';
import { local } from '../local/index.ts';
import { call } from './state.tsx';

const bytesOf = (base64: string) => Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
const base64Of = (bytes: ArrayBuffer) => btoa(String.fromCharCode(...new Uint8Array(bytes)));

/** This phone's key: its public half, and what it does. Undefined where the phone is not enrolled. All of it is in base64. */
export async function ownKey(): Promise<{ publicKey: string; sign(bytes: string): Promise<string> } | undefined> {
  const keys = await local.journal.keys();
  if (!keys) return undefined;
  return {
    publicKey: base64Of(await crypto.subtle.exportKey('raw', keys.publicKey)),
    sign: async (bytes) => base64Of(await crypto.subtle.sign('Ed25519', keys.privateKey, bytesOf(bytes))),
  };
}

/** Tells the engine whom to believe: the programme's keys as this phone last fetched them. */
export function useKeys(): void {
  const keys = useReference<Key>('key');
  useEffect(() => {
    call('keys.load', { keys: keys.map((k) => k.body) }).catch(() => undefined); // then every issuer is unknown, and it says so
  }, [keys]);
}
