import { IDBFactory } from 'fake-indexeddb';
import { expect, test } from 'vitest';
import { sha256 } from '../src/local/id.ts';
import { Local } from '../src/local/local.ts';
import { unseal } from '../src/local/seal.ts';
import type { Enrolment } from '../src/local/types.ts';
import { sayIn } from '../src/messages/index.tsx';
import { reasonIn } from '../src/phone/inTheWay.ts';
import { Sync } from '../src/sync/sync.ts';
import { type BatchAnswer, SendFailure, type Transport } from '../src/sync/transport.ts';

const enrolment: Enrolment = {
  device: '01980d5e-6a00-7000-8000-00000000000d',
  person: '01980d5e-6a00-7000-8000-00000000000e',
  role: 'steward',
  name: 'phone 1',
  leaseUntil: '2099-01-01T00:00:00Z',
  demo: true,
  enrolledAt: '2026-07-01T00:00:00Z',
};

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

/** A server that keeps each entry once, behind a line that loses, repeats and makes up answers. */
class Line implements Transport {
  readonly kept = new Map<string, string>();
  readonly order: string[] = [];
  revoked = false;
  quarantined: string[] = [];
  readonly luck: () => number;
  readonly loss: number;
  constructor(luck: () => number, loss: number) {
    this.luck = luck;
    this.loss = loss;
  }

  async send(entries: readonly { id: string; text: string }[]): Promise<BatchAnswer> {
    const bad = this.luck() < this.loss;
    const kind = bad ? Math.floor(this.luck() * 5) : -1;
    if (kind === 0) throw new SendFailure('noSignal', 'lost on the way there');
    if (kind === 1) throw new SendFailure('notTheServer', 'a sign-in page');
    if (kind === 2)
      return {
        answers: entries.map(({ id }) => ({ id, result: 'stored', sum: '0'.repeat(64) })),
        skewMs: 0,
        leaseUntil: '',
      };
    if (this.revoked) {
      this.quarantined.push(...entries.map((e) => e.id));
      throw new SendFailure('revoked', 'out of service');
    }
    const answers = [];
    for (const { id, text } of entries) {
      const { entry, sum } = await unseal(text);
      if ((entry.body as { bad?: boolean }).bad) {
        answers.push({ id, result: 'refused', errors: [{ field: 'body.bad', value: 'true', accepted: 'nothing' }] });
        continue;
      }
      const had = this.kept.has(id);
      if (!had) this.order.push(id);
      if (!had) this.kept.set(id, text);
      answers.push({ id, result: had ? 'had' : 'stored', sum });
    }
    if (kind === 3) throw new SendFailure('noSignal', 'lost on the way back');
    if (kind === 4) answers.splice(0, Math.ceil(answers.length / 2)); // an answer cut short, yet well formed
    return { answers, skewMs: 0, leaseUntil: enrolment.leaseUntil };
  }
  async practice(): Promise<Record<string, unknown>> {
    throw new SendFailure('busy', 'not now'); // holds up nothing
  }
  async changes(after: number) {
    return { rows: [], next: after };
  }
  async lease() {
    return { leaseUntil: enrolment.leaseUntil };
  }
  async photo() {}
}

async function phone(factory: IDBFactory, name: string) {
  const local = new Local({ factory, name });
  await local.open();
  if (!local.status().enrolment) await local.journal.setEnrolment(enrolment, undefined);
  return local;
}

const seeds = Array.from({ length: 40 }, (_, i) => i + 1);
test.each(seeds)('whatever the line does, each record arrives once and the phone knows: seed %i', async (seed) => {
  const luck = luckOf(seed);
  const line = new Line(luck, 0.1 + 0.5 * luck());
  const factory = new IDBFactory();
  let local = await phone(factory, `sim-${seed}`);
  let made = 0;
  let bad = 0;
  for (let step = 0; step < 400; step++) {
    const sync = new Sync({ local, transport: async () => line, luck });
    if (made < 40 && luck() < 0.5) {
      const isBad = luck() < 0.1;
      await local.seal(luck() < 0.1 ? 'incident' : 'tally', { n: made, ...(isBad && { bad: true }) });
      made += 1;
      if (isBad) bad += 1;
    } else if (luck() < 0.1) {
      local = await phone(factory, `sim-${seed}`); // the app was killed and opened again
    } else await sync.pass();
    if (made === 40 && local.status().onPhone === 0) break;
  }
  expect(local.status()).toMatchObject({ onPhone: 0, sent: 40 - bad, needsYou: bad });
  for (const r of local.records().filter((x) => x.state === 'needsYou'))
    expect(reasonIn(sayIn('en'), r.reason)).toMatch(/could not take this record\./);
  expect(line.kept.size).toBe(40 - bad);
  for (const r of local.records()) {
    if (r.state === 'sent') expect(await unseal(line.kept.get(r.entry.id) ?? '')).toMatchObject({ sum: r.sum });
    else expect(r.errors?.[0]?.field).toBe('body.bad');
  }
});

test('an incident goes before everything that waits', async () => {
  const line = new Line(() => 1, 0);
  const local = await phone(new IDBFactory(), 'urgent');
  for (let n = 0; n < 120; n++) await local.seal('tally', { n });
  const { id } = await local.seal('incident', { what: 'mussel' });
  await new Sync({ local, transport: async () => line }).pass();
  expect(line.order[0]).toBe(id);
  expect(line.order).toHaveLength(121);
});

test('a phone out of service hands over what it has, keeps it, and says that it needs somebody', async () => {
  const line = new Line(() => 1, 0);
  line.revoked = true;
  const local = await phone(new IDBFactory(), 'revoked');
  for (let n = 0; n < 30; n++) await local.seal('tally', { n });
  const sync = new Sync({ local, transport: async () => line });
  await sync.pass();
  expect(local.status()).toMatchObject({ onPhone: 0, sent: 0, needsYou: 30, revoked: true });
  expect(line.quarantined).toHaveLength(30);
  expect(local.records()).toHaveLength(30);
  await local.seal('tally', { n: 30 }); // work goes on all the same
  expect(local.status().onPhone).toBe(1);
});

test('one record that the server cannot even read does not hold up the others', async () => {
  const inner = new Line(() => 1, 0);
  const line: Transport = Object.assign(Object.create(inner) as Line, {
    send: async (entries: readonly { id: string; text: string }[]) => {
      if (entries.some((e) => e.text.includes('"n":17'))) throw new SendFailure('tooLarge', 'too large');
      return inner.send(entries);
    },
  });
  const local = await phone(new IDBFactory(), 'large');
  for (let n = 0; n < 60; n++) await local.seal('tally', { n });
  await new Sync({ local, transport: async () => line }).pass();
  expect(local.status()).toMatchObject({ onPhone: 0, sent: 59, needsYou: 1 });
});

test('reference records come in pieces, and the head of a subject is the latest that nothing supersedes', async () => {
  const row = (id: string, supersedes: string | undefined, madeAt: string, name: string, skewMs = 0) => ({
    ...{ id, kind: 'water', subject: 'w', madeAt, skewMs, body: { name } },
    ...(supersedes && { supersedes }),
  });
  const pieces = [
    { rows: [row('a', undefined, '2026-01-01T00:00:00Z', 'old')], next: 4 },
    {
      rows: [
        row('b', 'a', '2026-01-03T00:00:00Z', 'clock ran ahead', 172_800_000),
        row('c', 'a', '2026-01-02T00:00:00Z', 'new'),
      ],
      next: 9,
    },
  ];
  const line: Transport = Object.assign(new Line(() => 1, 0), {
    changes: async (after: number) => (after === 0 ? pieces[0] : after === 4 ? pieces[1] : { rows: [], next: after }),
  }) as Transport;
  const factory = new IDBFactory();
  const local = await phone(factory, 'ref');
  await new Sync({ local, transport: async () => line }).pass();
  const again = await phone(factory, 'ref');
  expect(again.reference.cursor).toBe(9);
  expect(again.reference.list('water')).toMatchObject([{ entry: 'c', body: { name: 'new' }, conflict: true }]);
  expect(again.status().referenceAt).toBeDefined();
});

test('the sum of a photo is its name', async () => {
  // SHA-256 of the empty string, as FIPS 180-4 test vectors give it.
  expect(await sha256('')).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855');
});

test('what a person practised is fetched twice a day and holds up nothing', async () => {
  let asked = 0;
  let now = Date.parse('2026-07-04T09:00:00Z');
  const line: Transport = Object.assign(new Line(() => 1, 0), {
    practice: async () => {
      asked += 1;
      return { memory: {}, skill: { classes: [] } };
    },
  }) as Transport;
  const local = await phone(new IDBFactory(), 'practice');
  const sync = new Sync({ local, transport: async () => line, now: () => now });
  for (const hours of [0, 1, 11]) {
    now += hours * 3_600_000;
    expect((await sync.pass()).phase).toBe('idle');
  }
  expect(asked).toBe(2);
  expect(await local.recall('practice')).toEqual({
    memory: {},
    skill: { classes: [] },
    at: '2026-07-04T21:00:00.000Z',
  });
});
