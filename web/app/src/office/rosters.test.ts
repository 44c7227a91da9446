import { expect, test } from 'vitest';
import type { PlanShift } from './plans.ts';
import { gapsOf, hourWords, mondayOf, type Roster, type Row, repairOf, weekOf } from './rosters.ts';

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

test('a repair keeps everybody and bars whoever cannot come, beside earlier absences', () => {
  const at = { day: '2026-06-01', from: 6, launch: 'a', person: 'p' };
  const asked = repairOf(
    { from: '2026-06-01', to: '2026-06-02', barred: [{ ...at, person: 'q' }] },
    { rows: [row('2026-06-01', 0)] } as Roster,
    [at],
  );
  expect(asked.keep).toEqual([at]);
  expect(asked.barred?.map((b) => b.person)).toEqual(['q', 'p']);
});
