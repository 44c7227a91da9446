import { expect, test } from 'vitest';
import {
  cellsOf,
  gridOf,
  money,
  onlyIn,
  type Plan,
  type PlanShift,
  pinned,
  pinOf,
  planOf,
  recordOf,
  type Wishes,
  wishesOf,
} from './plans.ts';

const shift = (launch: string, block: string, stops: number, people = 1) =>
  ({ launch, name: launch, day: 'weekday', block, from: 6, to: 12, people, stops }) as PlanShift;

test('a click goes from free to in to out and back, and leaves nothing behind', () => {
  const cell = cellsOf(undefined)[1];
  if (!cell) throw new Error('no parts of the week');
  let w: Wishes = { hours: 100 };
  const seen = [];
  for (let i = 0; i < 3; i++) {
    w = pinned(w, 'a', cell);
    seen.push(pinOf(w, 'a', cell));
  }
  expect(seen).toEqual(['in', 'out', 'free']);
  expect(w).toEqual({ hours: 100 });
  expect(pinned(w, 'a', cell).fixed).toEqual([{ launch: 'a', day: 'weekday', block: 'afternoon', in: true }]);
});

test('a launch with people counts what they stop, one without what arrives there', () => {
  const plan = {
    shifts: [shift('b', 'morning', 1), shift('a', 'morning', 2), shift('a', 'afternoon', 3)],
    left: [{ launch: 'c', name: 'c', risk: 4 }],
  } as unknown as Plan;
  expect(gridOf(plan).map((r) => [r.launch, r.met, r.missed, r.cells.size])).toEqual([
    ['a', 5, 0, 2],
    ['b', 1, 0, 1],
    ['c', 0, 4, 0],
  ]);
});

test('a kept plan has a bound that is not below its value', () => {
  const body = recordOf('x', '2026', {}, { value: 5, bound: 4.9999, wishes: {}, shifts: [] } as unknown as Plan);
  expect(body.bound).toBe(5);
  expect(body.gap).toBe(0);
});

test('another size of team is another shift', () => {
  const a = [shift('a', 'morning', 1), shift('b', 'morning', 1)];
  expect(onlyIn(a, [shift('a', 'morning', 1), shift('b', 'morning', 1, 2)]).map((s) => s.launch)).toEqual(['b']);
});

test('money says its currency where the programme has one', () => {
  expect(money(32785.08, 'USD')).toBe('USD 32,785');
  expect(money(32785.08, undefined)).toBe('32,785');
  const body = recordOf('x', '2026', {}, {
    value: 5,
    bound: 5,
    cost: 31,
    currency: 'USD',
    wishes: {},
    shifts: [],
  } as unknown as Plan);
  expect(body.result).toMatchObject({ cost: 31, currency: 'USD' });
});

test('a kept plan is opened as it was, with what was asked', () => {
  const plan = {
    made: true,
    value: 5,
    bound: 6,
    all: 9,
    wishes: { hours: 100, hourCost: 25 },
    why: ['because'],
  } as Plan;
  const body = recordOf('x', '2026', { hours: 100 }, plan);
  expect(wishesOf(body)).toEqual({ hours: 100 }); // what was left out stays left out
  expect(planOf(body)).toMatchObject({ whole: true, plan: { value: 5, bound: 6, all: 9, why: ['because'] } });
});

test('of a plan kept by its numbers alone the rest is empty, and that is known', () => {
  const old = {
    value: 5,
    bound: 6,
    gap: 0.1,
    constraints: { hours: 100 },
    result: { all: 9, shifts: [shift('a', 'morning', 5)] },
  };
  const { plan, whole } = planOf(old);
  expect(whole).toBe(false);
  expect(plan).toMatchObject({
    value: 5,
    bound: 6,
    better: 0.1,
    all: 9,
    wishes: { hours: 100 },
    organisms: [],
    why: [],
  });
  expect(gridOf(plan)).toHaveLength(1);
});
