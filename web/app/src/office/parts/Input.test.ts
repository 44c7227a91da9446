import { expect, test } from 'vitest';
import { valueAt, withValue } from './Input.tsx';

test('a change leaves everything else of the record as it is', () => {
  const body = { name: 'A', unit: { tankL: 400, own: 1 }, newer: { field: true } };
  expect(withValue(body, 'unit.tankL', 500)).toEqual({
    name: 'A',
    unit: { tankL: 500, own: 1 },
    newer: { field: true },
  });
  expect(body.unit.tankL).toBe(400);
});

test('an empty value is taken out, which says not known', () => {
  expect(withValue({ name: 'A', note: 'x' }, 'note', '')).toEqual({ name: 'A' });
  expect(withValue({ unit: { tankL: 1 } }, 'unit.tankL', undefined)).toEqual({ unit: {} });
  expect(withValue({ power: 'yes' }, 'power', 'no')).toEqual({ power: 'no' });
});

test('pairs of numbers keep their order', () => {
  expect(withValue({ at: [1, 2] }, 'at.1', 3)).toEqual({ at: [1, 3] });
  expect(withValue({}, 'at.0', 5)).toEqual({ at: [5] });
  expect(withValue({}, 'lastWaters.0.water', 'w')).toEqual({ lastWaters: [{ water: 'w' }] });
  expect(valueAt({ at: [1, 2] }, 'at.1')).toBe(2);
  expect(valueAt(undefined, 'a.b')).toBeUndefined();
});
