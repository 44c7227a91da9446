import { createHmac } from 'node:crypto';
import { IDBFactory } from 'fake-indexeddb';
import { expect, test } from 'vitest';
import { Local } from '../src/local/local.ts';
import { differing } from '../src/ramp/twice.ts';
import { Sync } from '../src/sync/sync.ts';
import type { Transport } from '../src/sync/transport.ts';

const letters = '0123456789-ABCDEFGHIJKLMNOPQRSTUVWXYZ';

/** Random numbers that a seed gives again: mulberry32 by Tommy Ettinger, public domain. */
function luckOf(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

test('a slip of one character in a field that matters is noticed when it is keyed again, 1,000 of 1,000', () => {
  const luck = luckOf(7);
  const sheet = [
    { name: 'day', value: '2026-07-04' },
    { name: 'water', value: '01980d5e-6a00-7000-8000-00000000000a' },
    { name: 'out', value: '2026-07-01' },
    { name: 'outcome', value: 'wash' },
    { name: 'mark', value: 'MN 1234 AB' },
  ];
  expect(differing(sheet, new Map(sheet.map((f) => [f.name, f.value])))).toEqual([]);
  let caught = 0;
  for (let i = 0; i < 1000; i++) {
    const f = sheet[Math.floor(luck() * sheet.length)] as (typeof sheet)[number];
    const at = Math.floor(luck() * f.value.length);
    let c = f.value[at];
    while (c === f.value[at]) c = letters[Math.floor(luck() * letters.length)];
    const slip = `${f.value.slice(0, at)}${c}${f.value.slice(at + 1)}`;
    const again = new Map(sheet.map((x) => [x.name, x === f ? slip : x.value]));
    if (differing(sheet, again).join() === f.name) caught++;
  }
  expect(caught).toBe(1000);
});

const enrolment = (device: string) => ({
  device,
  person: '01980d5e-6a00-7000-8000-00000000000e',
  role: 'steward' as const,
  name: 'phone',
  leaseUntil: '2099-01-01T00:00:00Z',
  demo: false,
  enrolledAt: '2026-07-01T00:00:00Z',
});

/** An office that hands on the marks it was sent, as far as a phone can see of it. */
class Office implements Transport {
  season = '2026';
  key = btoa('the programme’s key of 32 bytes!'.replace('’', "'"));
  readonly met: { hash: string; setup: unknown }[] = [];
  async send(entries: readonly { id: string; text: string }[]) {
    const { unseal } = await import('../src/local/seal.ts');
    const answers = [];
    for (const { id, text } of entries) {
      const { entry, sum } = await unseal(text);
      const body = entry.body as { mark?: { hash: string }; inspection?: { setup: unknown } };
      if (body.mark) this.met.push({ hash: body.mark.hash, setup: body.inspection?.setup });
      answers.push({ id, result: 'stored' as const, sum });
    }
    return { answers, skewMs: 0, leaseUntil: '2099-01-01T00:00:00Z' };
  }
  async changes(after: number) {
    return { rows: [], next: after };
  }
  async lease() {
    return { leaseUntil: '2099-01-01T00:00:00Z' };
  }
  async photo() {}
  async markKey() {
    return { season: this.season, key: this.key };
  }
  async knownCraft(after: number) {
    return { season: this.season, craft: this.met.slice(after, after + 2), next: Math.min(after + 2, this.met.length) };
  }
}

/** The mark as the engine makes it, by another library: HMAC-SHA-256 (RFC 2104) of the letters and digits, cut to 32 digits. */
function hashOf(registration: string, key: string) {
  const plain = registration.replace(/[^\p{L}\p{N}]/gu, '').toUpperCase();
  return { hash: createHmac('sha256', Buffer.from(key, 'base64')).update(plain).digest('hex').slice(0, 32) };
}

async function phoneOf(name: string) {
  const local = new Local({ factory: new IDBFactory(), name });
  await local.open();
  await local.journal.setEnrolment(enrolment(`01980d5e-6a00-7000-8000-0000000000${name}`), undefined);
  return local;
}

test('a craft that one phone met is known to another after both have met the office, and its number is nowhere', async () => {
  const office = new Office();
  const one = await phoneOf('01');
  const two = await phoneOf('02');
  const pass = (local: Local) => new Sync({ local, transport: async () => office }).pass(true);
  expect(await one.known.key()).toBeUndefined();
  await pass(one);
  await pass(two);
  expect(await one.known.key()).toBe(office.key);
  const mark = hashOf('MN 1234 AB', (await one.known.key()) as string);
  const again = hashOf('mn-1234-ab', (await two.known.key()) as string);
  expect(again).toEqual(mark);
  const setup = { class: 'runabout', drives: ['sterndrive'], spaces: [{ kind: 'bilge', count: 1 }], gear: [] };
  for (let n = 0; n < 5; n++) await one.seal('inspection', { inspection: { setup: { class: 'other' } }, n });
  await one.seal('inspection', { mark, inspection: { setup } });
  expect(await two.known.setup(again.hash)).toBeUndefined();
  await pass(one);
  await pass(two);
  expect(await two.known.setup(again.hash)).toEqual(setup);
  const everything = JSON.stringify([one.records(), two.records(), office.met]);
  expect(everything).not.toMatch(/1234/);
  // A new season has a new key: what was known under the old one goes.
  office.season = '2027';
  office.key = btoa('another key of thirty-two bytes!!');
  office.met.length = 0;
  await pass(two);
  expect(await two.known.setup(again.hash)).toBeUndefined();
  expect(await two.known.key()).toBe(office.key);
});

test('the key of marks does not lie on the phone in the clear', async () => {
  const factory = new IDBFactory();
  const local = new Local({ factory, name: 'locked' });
  await local.open();
  const key = btoa('x'.repeat(32));
  await local.known.setKey('2026', key);
  const db = await new Promise<IDBDatabase>((resolve, reject) => {
    const r = factory.open('locked');
    r.onsuccess = () => resolve(r.result);
    r.onerror = () => reject(r.error);
  });
  const rows = await new Promise<unknown[]>((resolve) => {
    const r = db.transaction('meta').objectStore('meta').getAll();
    r.onsuccess = () => resolve(r.result);
  });
  const row = rows.find((r) => (r as { key: string }).key === 'markKey') as {
    value: { locked: ArrayBuffer; lock: CryptoKey };
  };
  expect(String.fromCharCode(...new Uint8Array(row.value.locked))).not.toContain('xxxx');
  expect(row.value.lock.extractable).toBe(false);
});
