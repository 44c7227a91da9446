import { expect, test, vi } from 'vitest';
import {
  Engine,
  type EngineAnswer,
  type EngineCall,
  EngineFailed,
  EngineRefused,
  type EngineWorker,
} from '../src/engine/client.ts';

interface Ops {
  double: { in: { n: number }; out: { n: number } };
  die: { in: object; out: object };
  'names.load': { in: { names: string[] }; out: object };
  find: { in: { name: string }; out: { found: boolean } };
}

/** An engine of a few lines behind the same messages, which remembers names and dies on demand. */
class Fake implements EngineWorker {
  static made = 0;
  static messages = 0;
  static deaths = 0;
  onmessage: EngineWorker['onmessage'] = null;
  onerror: EngineWorker['onerror'] = null;
  names: string[] = [];
  dead = false;
  constructor() {
    Fake.made += 1;
  }
  terminate() {
    this.dead = true;
  }
  postMessage(calls: readonly EngineCall[]) {
    Fake.messages += 1;
    queueMicrotask(() => {
      const answers: { n: number; text: string }[] = [];
      for (const { n, text } of calls) {
        const { op, in: input } = JSON.parse(text);
        if (op === 'die' && Fake.deaths > 0) {
          Fake.deaths -= 1;
          this.#say({ ended: 'out of memory' });
          return;
        }
        if (op === 'names.load') this.names = input.names;
        const reply: Record<string, unknown> = {
          double: Number.isFinite(input.n)
            ? { out: { n: 2 * input.n } }
            : { errors: [{ field: 'n', value: '', accepted: 'a number' }] },
          die: { out: {} },
          'names.load': { out: {} },
          find: { out: { found: this.names.includes(input.name) } },
        };
        answers.push({ n, text: JSON.stringify(reply[op] ?? { failed: 'unknown' }) });
      }
      this.#say({ answers });
    });
  }
  #say(data: EngineAnswer) {
    if (!this.dead) this.onmessage?.({ data } as MessageEvent<EngineAnswer>);
  }
}

function engine(hungMs?: number) {
  Object.assign(Fake, { made: 0, messages: 0, deaths: 0 });
  return new Engine<Ops>(() => new Fake(), hungMs);
}

test('calls of one turn go over in one message and come back to their callers', async () => {
  const e = engine();
  const out = await Promise.all([1, 2, 3].map((n) => e.call('double', { n })));
  expect(out).toEqual([{ n: 2 }, { n: 4 }, { n: 6 }]);
  expect(Fake.messages).toBe(1);
});

test('what cannot be taken is refused with its fields', async () => {
  await expect(engine().call('double', {} as { n: number })).rejects.toMatchObject({
    name: 'EngineRefused',
    fields: [{ field: 'n', accepted: 'a number' }],
  });
  expect(EngineRefused).toBeDefined();
});

test('an engine that dies is started again, is told its names again, and the open calls are answered', async () => {
  const e = engine();
  await e.call('names.load', { names: ['Withy'] });
  Fake.deaths = 1;
  const [died, found] = await Promise.all([e.call('die', {}), e.call('find', { name: 'Withy' })]);
  expect([died, found]).toEqual([{}, { found: true }]);
  expect(Fake.made).toBe(2);
});

test('what is to be remembered starts no engine, and every engine that starts is told it first', async () => {
  const e = engine();
  e.remember('names.load', { names: ['Withy'] });
  expect(Fake.made).toBe(0);
  expect(await e.call('find', { name: 'Withy' })).toEqual({ found: true });
  e.remember('names.load', { names: ['Alder'] });
  expect(await e.call('find', { name: 'Alder' })).toEqual({ found: true });
  expect(Fake.made).toBe(1);
  // It dies for good of a call; the next one finds a new engine that knows the names.
  Fake.deaths = 2;
  await expect(e.call('die', {})).rejects.toMatchObject({ how: 'stopped' });
  expect(await e.call('find', { name: 'Alder' })).toEqual({ found: true });
  expect(Fake.made).toBe(3);
});

test('an engine that dies of the same call twice fails that call and answers the next', async () => {
  const e = engine();
  Fake.deaths = 2;
  await expect(e.call('die', {})).rejects.toBeInstanceOf(EngineFailed);
  expect(await e.call('double', { n: 4 })).toEqual({ n: 8 });
});

test('an engine that hangs is given up', async () => {
  vi.useFakeTimers();
  const mute: EngineWorker = {
    postMessage: () => undefined,
    terminate: () => undefined,
    onmessage: null,
    onerror: null,
  };
  const e = new Engine<Ops>(() => mute, 1000);
  const asked = e.call('double', { n: 1 });
  asked.catch(() => undefined);
  await vi.advanceTimersByTimeAsync(2500);
  await expect(asked).rejects.toThrow(/no answer within 1 s/);
  vi.useRealTimers();
});
