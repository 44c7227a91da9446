import { expect, test } from 'vitest';
import type { Case, DrillCraft, RoundOut, Sight } from '../src/engine/types.ts';
import {
  act,
  answer,
  answered,
  arrive,
  begin,
  findings,
  nextOpen,
  reopen,
  step,
  turnOf,
} from '../src/practice/drill.ts';
import { type Books, type Call, caseOf } from '../src/ramp/judge.ts';

const round = {
  places: [],
  round: { stops: ['bow', 'keel', 'drain'].map((place) => ({ place })) },
} as unknown as RoundOut;
const start = () => begin({} as DrillCraft, round, 1_000_000);
const sight = (place: string): Sight => ({ place, signs: [], says: [] });

test('seconds at a place run from arriving to leaving, and what was passed over is no stop', () => {
  let d = act(start(), 'bow', 'look', sight('bow'), 1_004_000);
  d = answer(d, 'bow', 'dry', undefined, 1_006_000);
  d = arrive(d, 'keel', 1_006_500);
  d = arrive(d, 'drain', 1_009_000); // the keel was passed over
  d = act(d, 'drain', 'feel', sight('drain'), 1_010_000);
  const turn = turnOf(d, 'wash', [{ kind: 'remove' }], 1_012_000);
  expect(turn.walk).toEqual([
    { place: 'bow', acts: ['look'], wet: 'dry', atS: 0, seconds: 6.5 },
    { place: 'drain', acts: ['feel'], atS: 9, seconds: 3 },
  ]);
  expect(turn.steps).toEqual([{ kind: 'remove' }]);
});

test('acting at another place of the list goes there', () => {
  let d = act(start(), 'bow', 'look', sight('bow'), 1_001_000);
  d = act(d, 'drain', 'open', sight('drain'), 1_003_000);
  d = act(d, 'bow', 'feel', sight('bow'), 1_004_000);
  expect(d.here).toBe('bow');
  expect(d.notes.bow?.acts).toEqual(['look', 'feel']);
  expect(turnOf(d, 'hold', [], 1_006_000).walk.map((s) => [s.place, s.acts])).toEqual([
    ['bow', ['look']],
    ['drain', ['open']],
    ['bow', ['feel']],
  ]);
});

test('an answer can be taken back, and then holds nothing of before', () => {
  let d = answer(start(), 'keel', 'damp', 'plant', 1_002_000);
  expect(findings(d)).toEqual([{ place: 'keel', matter: 'plant', removed: 'none' }]);
  d = answer(reopen(d, 'keel'), 'keel', 'dry', undefined, 1_003_000);
  expect(findings(d)).toEqual([]);
  expect(answered(d)).toBe(1);
});

test('the round goes on at the next place without an answer, round and round', () => {
  let d = arrive(start(), 'drain', 1_001_000);
  expect(nextOpen(d)).toBe('bow');
  for (const p of ['bow', 'keel', 'drain']) d = answer(d, p, 'dry', undefined, 1_002_000);
  expect(nextOpen(d)).toBeUndefined();
  expect([step(d, 1), step(d, -1)]).toEqual(['bow', 'keel']);
});

test('the case carries what its person finds, and nothing where that is not known', async () => {
  const books: Books = { waters: [], launches: [], units: [], protocols: [], programme: undefined };
  const inspection = { lastWaters: [], startedAt: '2026-07-04T09:00:00Z' } as unknown as Case['inspection'];
  const none = (() => Promise.reject(new Error('not asked'))) as unknown as Call;
  const skill = { found: 0, trials: 0, classes: [{ class: 'small_felt', alpha: 9, beta: 3 }] };
  expect((await caseOf(none, books, inspection, undefined, undefined, skill)).skill).toEqual(skill);
  expect(await caseOf(none, books, inspection, undefined, undefined)).not.toHaveProperty('skill');
});
