import { describe, expect, test } from 'vitest';
import { amount, arc, certainty, drawn, ticks, weeks } from './traffic.ts';

const day = (n: number, craft: number) => ({
  day: `2026-05-${String(n).padStart(2, '0')}`,
  type: 'weekday' as const,
  craft: { lo: 0, mid: craft, hi: 2 * craft },
  usual: craft,
  counted: 0,
  expected: 0,
});

describe('weeks', () => {
  test('share out the whole season, the last one short', () => {
    const days = Array.from({ length: 17 }, (_, i) => day(i + 1, i + 1));
    const all = weeks(days, 153);
    expect(all.map((w) => [w.from, w.to])).toEqual([
      ['2026-05-01', '2026-05-07'],
      ['2026-05-08', '2026-05-14'],
      ['2026-05-15', '2026-05-17'],
    ]);
    expect(all[0]?.share).toBeCloseTo(28 / 153);
    expect(all.reduce((sum, w) => sum + w.share, 0)).toBeCloseTo(1);
  });
  test('are none where nothing arrives', () => expect(weeks([day(1, 0)], 0)).toEqual([]));
});

test('an interval that touches nothing is a guess', () => {
  expect(certainty({ lo: 0, mid: 1, hi: 2 })).toBe('guess');
  expect(certainty({ lo: 1, mid: 5, hi: 11 })).toBe('guess');
  expect(certainty({ lo: 1, mid: 2, hi: 4 })).toBe('loose');
  expect(certainty({ lo: 1, mid: 2, hi: 3 })).toBe('firm');
});

test('there and back bend apart, each to the right of its way, and end where they should', () => {
  const south = { id: 's', lon: 10, lat: 0 };
  const north = { id: 'n', lon: 10, lat: 1 };
  const up = arc(south, north);
  const down = arc(north, south);
  expect(up[0]).toEqual([10, 0]);
  expect(up.at(-1)).toEqual([10, 1]);
  expect(up[8]?.[0]).toBeGreaterThan(10); // north-going craft pass in the east
  expect(down[8]?.[0]).toBeLessThan(10);
});

test('an arrow head looks the way craft go, and the largest flow is drawn last', () => {
  const places = [
    { id: 'a', lon: 0, lat: 0 },
    { id: 'b', lon: 1, lat: 0 },
  ];
  const at = (mid: number) => ({ lo: mid / 2, mid, hi: mid * 2 });
  const { features } = drawn(
    [
      { from: 'a', to: 'b', passages: at(8) },
      { from: 'b', to: 'a', passages: at(2) },
      { from: 'b', to: 'nowhere', passages: at(1) },
    ],
    places,
    8,
  );
  const heads = features.filter((f) => f.geometry.type === 'Point').map((f) => f.properties);
  expect(heads).toHaveLength(2);
  expect(heads.map((h) => h?.width)).toEqual([0.25, 1]);
  expect(heads[1]?.heading).toBeGreaterThan(70); // east, already bending north again
  expect(heads[1]?.heading).toBeLessThan(90);
});

test('estimates are shown with three digits', () => {
  expect([amount(118499.3), amount(0.0123456), amount(0), amount(0.000012)]).toEqual([
    '118,000',
    '0.0123',
    '0',
    '< 0.001',
  ]);
});

test('axes end at or beyond the top', () => {
  expect(ticks(774)).toEqual([0, 200, 400, 600, 800]);
  expect(ticks(2)).toEqual([0, 0.5, 1, 1.5, 2]);
});
