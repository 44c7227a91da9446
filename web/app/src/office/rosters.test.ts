import { expect, test } from 'vitest';
import type { PlanShift } from './plans.ts';
import { gapsOf, hoursWords, hourWords, mondayOf, placeOf, type Row, weekOf } from './rosters.ts';

const row = (day: string, open: number, launch = 'a') =>
  ({ day, from: 6, to: 12, launch, name: launch, open, people: [{ id: 'p', name: 'Ada' }], work: 'steward' }) as Row;

test('weeks begin on Monday, over the turn of a year too', () => {
  expect(mondayOf('2026-06-07')).toBe('2026-06-01'); // a Sunday
  expect(mondayOf('2027-01-01')).toBe('2026-12-28'); // a Friday; ISO week 53 of 2026
  expect(weekOf('2026-12-28')[6]).toBe('2027-01-03');
  expect(hourWords(6.5)).toBe('06:30');
});

test('gaps come with the risk of the plan’s shift, the largest first, and not known before any', () => {
  const shifts = [
    { launch: 'a', day: 'weekday', from: 6, days: 10, stops: 20 },
    { launch: 'a', day: 'free day', from: 6, days: 5, stops: 50 },
  ] as PlanShift[];
  const gaps = gapsOf(
    [row('2026-06-01', 1), row('2026-06-06', 2), row('2026-06-02', 0), row('2026-06-03', 1, 'b')],
    shifts,
  );
  expect(gaps.map((g) => [g.row.day, g.risk])).toEqual([
    ['2026-06-03', undefined],
    ['2026-06-06', 10],
    ['2026-06-01', 2],
  ]);
});

test('a place is somebody’s or open', () => {
  const shift = row('2026-06-01', 1);
  expect(placeOf(shift, 'p')).toEqual({ launch: 'a', day: '2026-06-01', from: 6, holder: 'p' });
  expect('holder' in placeOf(shift)).toBe(false);
  expect(hoursWords({ from: 6.5, to: 12 })).toBe('06:30–12:00');
});
