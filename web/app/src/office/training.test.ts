import { expect, test } from 'vitest';
import { curriculumFields, monthsAfter } from './training.ts';

test('a certificate ends on the same day of a later month, or on its last', () => {
  expect(monthsAfter('2026-04-24T00:00:00Z', 12)).toBe('2027-04-24T00:00:00.000Z');
  expect(monthsAfter('2026-08-31T00:00:00Z', 6)).toBe('2027-02-28T00:00:00.000Z');
  expect(monthsAfter('2026-11-30T00:00:00Z', 3)).toBe('2027-02-28T00:00:00.000Z');
});

test('a part is told in words', () => {
  const line = curriculumFields().find((f) => f.kind === 'rows')?.line;
  expect(line?.({ name: 'guide', what: 'reading', pages: ['Where to look'] })).toBe('guide: read Where to look.');
  expect(line?.({ name: 'craft', what: 'drills', drills: 3, difficulty: '2', score: 70, months: 6 })).toBe(
    'craft: 3 practice craft in a row of difficulty 2 or more, each 70 points or more. To be done again after 6 months.',
  );
});

test('a part of a curriculum asks only for what its kind needs', () => {
  const of = curriculumFields().find((f) => f.kind === 'rows')?.of;
  const asked = (what: string) => of?.({ what }).map((f) => f.path);
  expect(asked('reading')).toContain('pages');
  expect(asked('reading')).not.toContain('boats');
  expect(asked('drills')).toEqual(expect.arrayContaining(['drills', 'difficulty', 'score']));
  expect(asked('observed')).toContain('boats');
});
