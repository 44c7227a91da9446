import { expect, test } from 'vitest';
import { byGravity, fieldOf, type Mapping, mapped, named } from './imports.ts';

const start: Mapping = { columns: { date: 'Date', launch: 'Site' }, units: {}, zone: '', ignore: ['Owner'] };

test('a field has one column, and what is not read is listed as looked at', () => {
  const moved = mapped(start, 'Ramp', 'launch');
  expect(moved.columns).toEqual({ date: 'Date', launch: 'Ramp' });
  expect(fieldOf(moved, 'Site')).toBe('');
  const none = mapped(moved, 'Ramp', '');
  expect(none.columns).toEqual({ date: 'Date' });
  expect(none.ignore).toEqual(['Owner', 'Ramp']);
  expect(mapped(none, 'Owner', 'note').ignore).toEqual(['Ramp']);
});

test('a name is decided, left out, or decided later', () => {
  const decided = named(start, 'waters', 'Owl Lake', 'id');
  expect(decided.waters).toEqual({ 'Owl Lake': 'id' });
  expect(named(decided, 'waters', 'Owl Lake', '').waters).toEqual({ 'Owl Lake': '' });
  expect(named(decided, 'waters', 'Owl Lake', undefined).waters).toEqual({});
});

test('refused rows come first', () => {
  const line = (row: number, level: string) => ({ row, level, accepted: '' });
  const sorted = byGravity([line(1, 'look'), line(9, 'refused'), line(2, 'refused')]);
  expect(sorted.map((l) => l.row)).toEqual([2, 9, 1]);
});
