import { IDBFactory, IDBObjectStore, IDBTransaction } from 'fake-indexeddb';
import { afterEach, expect, test, vi } from 'vitest';
import type { SecondCopy } from '../src/local/copy.ts';
import { Db } from '../src/local/db.ts';
import { Journal } from '../src/local/journal.ts';
import { type Enrolment, NotSaved } from '../src/local/types.ts';

const enrolment: Enrolment = {
  device: '01980d5e-6a00-7000-8000-00000000000d',
  person: '01980d5e-6a00-7000-8000-00000000000e',
  role: 'steward',
  name: 'phone 1',
  leaseUntil: '2026-12-01T00:00:00Z',
  demo: true,
  enrolledAt: '2026-07-01T00:00:00Z',
};

function memoryCopy(): SecondCopy & { files: Map<string, string> } {
  const files = new Map<string, string>();
  return {
    files,
    put: async (name, text) => void files.set(name, text),
    drop: async (name) => void files.delete(name),
    all: async () => [...files],
  };
}

async function opened(factory = new IDBFactory(), copy?: SecondCopy, now?: () => Date) {
  const journal = new Journal({ db: new Db('j', factory), copy, ...(now && { now }) });
  await journal.open();
  if (!journal.enrolment) await journal.setEnrolment(enrolment, undefined);
  return journal;
}

/** Everything a journal knows, read anew from the same database. */
async function stored(factory: IDBFactory) {
  const journal = new Journal({ db: new Db('j', factory) });
  await journal.open(true);
  return { drafts: journal.drafts(), records: journal.records(), seq: journal.counters.seq };
}

afterEach(() => void vi.restoreAllMocks());

test('a draft is there after a restart, and gone with the record that it became', async () => {
  const factory = new IDBFactory();
  const a = await opened(factory);
  await a.saveDraft('boat', { stop: 3 });
  expect((await stored(factory)).drafts).toMatchObject([{ id: 'boat', value: { stop: 3 } }]);
  const [entry] = await a.seal([{ kind: 'inspection', body: { n: 1 }, options: { draft: 'boat' } }]);
  const b = await stored(factory);
  expect(b.drafts).toEqual([]);
  expect(b.records.map((r) => [r.entry.id, r.state, r.entry.seq])).toEqual([[entry?.id, 'onPhone', 1]]);
});

test('numbers of the device follow each other, however many seal at once', async () => {
  const a = await opened();
  await Promise.all(Array.from({ length: 50 }, (_, n) => a.seal([{ kind: 'tally', body: { n } }])));
  expect(a.records().map((r) => r.entry.seq)).toEqual(Array.from({ length: 50 }, (_, n) => n + 1));
});

test('a second tap seals nothing twice', async () => {
  const a = await opened();
  const id = '01980d5e-6a00-7000-8000-000000000001';
  const both = await Promise.all([1, 2].map((n) => a.seal([{ kind: 'tally', body: { n }, options: { id } }])));
  expect(both[0]).toEqual(both[1]);
  expect(a.records()).toHaveLength(1);
});

test('only the sum of the very bytes makes a record sent', async () => {
  const a = await opened();
  const [entry] = await a.seal([{ kind: 'tally', body: { n: 1 } }]);
  const id = entry?.id ?? '';
  await a.settle([{ id, sum: 'f'.repeat(64) }]);
  expect(a.record(id)?.state).toBe('onPhone');
  await a.settle([{ id, sum: a.record(id)?.sum ?? '' }]);
  expect(a.record(id)?.state).toBe('sent');
  await a.settle([{ id, reason: 'late refusal' }]);
  expect(a.record(id)?.state).toBe('sent');
  expect(a.counters.sent).toBe(1);
});

test('sent records leave after their days, unsent ones never', async () => {
  let at = new Date('2026-07-01T12:00:00Z');
  const a = await opened(undefined, undefined, () => at);
  const [one] = await a.seal([{ kind: 'tally', body: {} }]);
  await a.seal([{ kind: 'tally', body: {} }]);
  const [craft] = await a.seal([{ kind: 'inspection', body: { mark: { hash: 'x' } } }]);
  for (const e of [one, craft]) await a.settle([{ id: e?.id ?? '', sum: a.record(e?.id ?? '')?.sum ?? '' }]);
  expect(await a.prune(7, true)).toBe(1); // the one that recognises a craft
  at = new Date('2026-09-01T12:00:00Z');
  expect(await a.prune(7)).toBe(1);
  expect(a.records().map((r) => r.state)).toEqual(['onPhone']);
  await expect(a.letGo(a.records()[0]?.entry.id ?? '')).rejects.toThrow(/has not been sent/);
});

const faults = [
  { name: 'the phone is full', error: () => new DOMException('full', 'QuotaExceededError'), why: 'full' },
  { name: 'the request fails', error: () => new DOMException('disk', 'UnknownError'), why: 'failed' },
  { name: 'the storage was closed', error: () => new DOMException('closed', 'InvalidStateError'), why: 'closed' },
] as const;

test.each(faults)('every storage call of a season’s work fails once: $name', async ({ error, why }) => {
  const put = IDBObjectStore.prototype.put;
  const drop = IDBObjectStore.prototype.delete;
  const begin = (await import('fake-indexeddb')).IDBDatabase.prototype.transaction;
  const idb = (await import('fake-indexeddb')).IDBDatabase;
  let failed = 0;
  for (let n = 1; ; n++) {
    const factory = new IDBFactory();
    const a = await opened(factory);
    let calls = 0;
    const counting = <F extends (...args: never[]) => unknown>(real: F) =>
      function (this: unknown, ...args: Parameters<F>) {
        calls += 1;
        if (calls === n) throw error();
        return Reflect.apply(real, this, args);
      };
    vi.spyOn(IDBObjectStore.prototype, 'put').mockImplementation(counting(put) as never);
    vi.spyOn(IDBObjectStore.prototype, 'delete').mockImplementation(counting(drop) as never);
    vi.spyOn(idb.prototype, 'transaction').mockImplementation(counting(begin) as never);

    // What is promised as saved is remembered here, and compared with what a restart finds.
    const promised = { drafts: new Map<string, number>(), records: new Set<string>() };
    let refusals = 0;
    const attempt = async (work: () => Promise<void>) => {
      try {
        await work();
        expect(a.trouble).toBeUndefined();
      } catch (e) {
        refusals += 1;
        expect(e).toBeInstanceOf(NotSaved);
        expect((e as NotSaved).why).toBe(why);
        expect(a.trouble?.why).toBe(why);
      }
    };
    for (let boat = 0; boat < 3; boat++) {
      const id = `boat-${boat}`;
      for (let stop = 0; stop < 3; stop++) {
        await attempt(async () => {
          await a.saveDraft(id, stop);
          promised.drafts.set(id, stop);
        });
      }
      await attempt(async () => {
        const [e] = await a.seal([
          { kind: 'inspection', body: { boat }, options: { draft: id } },
          { kind: 'tally', body: { boat } },
        ]);
        promised.drafts.delete(id);
        if (e) promised.records.add(e.id);
      });
    }
    vi.restoreAllMocks();
    const found = await stored(factory);
    expect(Object.fromEntries(found.drafts.map((d) => [d.id, d.value]))).toEqual(Object.fromEntries(promised.drafts));
    const inspections = found.records.filter((r) => r.entry.kind === 'inspection').map((r) => r.entry.id);
    expect(new Set(inspections)).toEqual(promised.records);
    expect(found.records).toHaveLength(2 * promised.records.size); // never half of what belongs together
    expect(found.records.map((r) => r.entry.seq)).toEqual(found.records.map((_, i) => i + 1));
    if (calls < n) {
      expect(refusals).toBe(0);
      break;
    }
    expect(refusals).toBe(1);
    failed += 1;
  }
  expect(failed).toBeGreaterThan(20);
});

test('a commit that is given up saves nothing and says so', async () => {
  const factory = new IDBFactory();
  const a = await opened(factory);
  const commit = IDBTransaction.prototype.commit;
  vi.spyOn(IDBTransaction.prototype, 'commit').mockImplementationOnce(function (this: IDBTransaction) {
    this.abort();
  });
  await expect(a.saveDraft('boat', 1)).rejects.toBeInstanceOf(NotSaved);
  expect(a.drafts()).toEqual([]);
  expect(commit).toBeDefined();
  await a.saveDraft('boat', 2);
  expect(a.trouble).toBeUndefined();
  expect((await stored(factory)).drafts).toMatchObject([{ value: 2 }]);
});

test('a tab that only shows refuses to save', async () => {
  const factory = new IDBFactory();
  await opened(factory);
  const b = new Journal({ db: new Db('j', factory) });
  await b.open(true);
  await expect(b.saveDraft('x', 1)).rejects.toMatchObject({ why: 'readOnly' });
});

test('the second copy holds what has not been sent, and brings it back when the database was emptied', async () => {
  const copy = memoryCopy();
  const a = await opened(new IDBFactory(), copy);
  await a.saveDraft('boat', { stop: 2 });
  const [kept] = await a.seal([{ kind: 'tally', body: { n: 1 } }]);
  const [gone] = await a.seal([{ kind: 'tally', body: { n: 2 } }]);
  await a.settle([{ id: gone?.id ?? '', sum: a.record(gone?.id ?? '')?.sum ?? '' }]);
  await a.copied();
  expect([...copy.files.keys()].sort()).toEqual(['draft-boat', `record-${kept?.id}`]);

  const b = new Journal({ db: new Db('j', new IDBFactory()), copy });
  await b.open();
  expect(b.drafts()).toMatchObject([{ id: 'boat', value: { stop: 2 } }]);
  expect(b.records().map((r) => [r.entry.id, r.state, r.sum])).toEqual([
    [kept?.id, 'onPhone', a.record(kept?.id ?? '')?.sum],
  ]);
  expect(b.counters.seq).toBe(1);
});

test('one changed letter in a stored record is found, and mended from the second copy', async () => {
  for (const spare of [true, false]) {
    const factory = new IDBFactory();
    const copy = memoryCopy();
    const a = await opened(factory, copy);
    const [entry] = await a.seal([{ kind: 'tally', body: { n: 1 } }]);
    await a.copied();
    const text = copy.files.get(`record-${entry?.id}`) ?? '';
    const row = a.rows[0];
    await new Db('j', factory).write(['records'], (tx) =>
      tx.put('records', { ...row, text: text.replace('"n":1', '"n":3') }),
    );
    if (!spare) copy.files.clear();
    const b = new Journal({ db: new Db('j', factory), copy });
    await b.open();
    expect(b.rows[0]).toMatchObject(spare ? { text, state: 'onPhone' } : { state: 'needsYou' });
  }
});

test('a failing second copy stops no save and is shown', async () => {
  const fail = async () => {
    throw new Error('no');
  };
  const a = await opened(new IDBFactory(), { put: fail, drop: fail, all: async () => [] });
  await a.saveDraft('x', 1);
  await a.copied();
  expect(a.secondCopy).toBe('behind');
  expect(a.drafts()).toHaveLength(1);
});
