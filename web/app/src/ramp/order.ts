import type { Inspection, NoteToSign, ReceiptOut, WashDone, WashUnit } from '../engine/types.ts';
import { local } from '../local/index.ts';
import type { Say } from '../messages/index.tsx';
import { type BoatDraft, boatOf } from './boat.ts';
import type { DoneNote, Weather } from './drafts.ts';
import { type Books, type Call, caseOf } from './judge.ts';
import { ownKey } from './signing.ts';
import { orderOf, type WashOrder } from './washing.ts';

// A wash order on its way from phone to phone, and the word back that the wash is over. The engine packs both into a note that this phone's
// key signs; the treatment is not sent: the other phone's engine works it out for the machine that stands there.

const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'; // RFC 4648, base 32

/** Four letters that name an order aloud: the last twenty bits of its inspection's id. */
export function shortCode(encounter: string): string {
  let n = Number.parseInt(encounter.replaceAll('-', '').slice(-5), 16);
  let out = '';
  for (let i = 0; i < 4; i++) {
    out = LETTERS[n & 31] + out;
    n >>= 5;
  }
  return out;
}

/** An open order of this phone by its four letters. */
export function byShortCode(code: string, dones: readonly DoneNote[]): BoatDraft | undefined {
  const wanted = code.trim().toUpperCase();
  return dones
    .map((d) => d.boat)
    .find(
      (b) => shortCode(boatOf(b).sealed?.subject ?? b.id) === wanted && boatOf(b).sealed?.verdict?.outcome === 'wash',
    );
}

/** A note signed by this phone, as text and as a code. */
async function signed(call: Call, say: Say, make: (publicKey: string) => Promise<NoteToSign>): Promise<ReceiptOut> {
  const key = await ownKey();
  if (!key) throw new Error(say('sign.noKey'));
  const { note, bytes } = await make(key.publicKey);
  return call('note.seal', { note, signature: await key.sign(bytes), public: key.publicKey });
}

export const writeOrder = (call: Call, say: Say, encounter: string, inspection: Inspection, at: string) =>
  signed(call, say, (publicKey) => call('order.toSign', { encounter, inspection, public: publicKey, at }));

export const writeOver = (call: Call, say: Say, done: WashDone, order: string, clears: boolean, at: string) =>
  signed(call, say, (publicKey) =>
    call('over.toSign', {
      over: { encounter: done.encounter, order, endedAt: done.endedAt, clears },
      public: publicKey,
      at,
    }),
  );

/** Works the order out for the machine at hand. */
export async function orderFrom(
  call: Call,
  say: Say,
  encounter: string,
  inspection: Inspection,
  books: Books,
  unit: WashUnit | undefined,
  weather: Weather | undefined,
): Promise<WashOrder> {
  const cs = await caseOf(call, books, inspection, unit, weather);
  const [{ verdict }, { treatment }] = await Promise.all([call('verdict', cs), call('treat', cs)]);
  if (!treatment) throw new Error(say('order.noWash'));
  return orderOf(inspection.setup, treatment, verdict.atRisk, cs, encounter);
}

/** Which order each wash was done by that another phone had asked for, latest last, until its end has been told. */
const ASKED = 'asked-orders';
const MOST_ASKED = 50;
type Asked = readonly (readonly [encounter: string, sum: string])[];

export async function rememberAsked(encounter: string, sum: string): Promise<void> {
  const had = ((await local.recall<Asked>(ASKED)) ?? []).filter(([e]) => e !== encounter);
  await local.remember(ASKED, [...had, [encounter, sum]].slice(-MOST_ASKED));
}

export async function askedFor(encounter: string): Promise<string | undefined> {
  return (await local.recall<Asked>(ASKED))?.find(([e]) => e === encounter)?.[1];
}
