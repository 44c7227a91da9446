import { expect, test } from 'vitest';
import { differences } from './difference.ts';

test('equal records do not differ', () => {
  expect(differences({ a: 1, b: [1, { c: 2 }] }, { b: [1, { c: 2 }], a: 1 })).toEqual([]);
});

test('each leaf that differs is named by its path', () => {
  const before = { days: 30, wash: [{ part: 'hull', c: 60 }], note: 'x' };
  const after = { days: 14, wash: [{ part: 'hull', c: 55 }, { part: 'gear' }] };
  expect(differences(before, after)).toEqual([
    { path: 'days', before: 30, after: 14 },
    { path: 'wash.0.c', before: 60, after: 55 },
    { path: 'wash.1', before: undefined, after: { part: 'gear' } },
    { path: 'note', before: 'x', after: undefined },
  ]);
});

test('a list is not a record with numbers for names', () => {
  expect(differences({ a: [1] }, { a: { 0: 1 } })).toHaveLength(1);
});
