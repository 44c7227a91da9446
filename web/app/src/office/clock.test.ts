import { afterAll, describe, expect, test } from 'vitest';
import { dayOf, dayStart, instant, moment, setZone, wall, zoneName, zoneWords } from './clock.ts';

afterAll(() => setZone(undefined));

// Changes of clocks from the IANA time zone database: America/Chicago went ahead on 2026-03-08 at 2:00 and back on 2026-11-01
// at 2:00; Australia/Lord_Howe moves by half an hour, back on 2026-04-05 at 2:00.
describe('the programme’s clock', () => {
  test('shows the programme’s time, whatever the browser’s', () => {
    setZone('America/Chicago');
    expect(moment('2026-07-04T10:40:00Z')).toBe('Sat, Jul 4, 2026, 05:40');
    expect(moment('2026-07-04T10:40:00Z', 'short')).toBe('Jul 4, 2026, 05:40');
    expect(dayOf('2026-07-04T03:00:00Z')).toBe('2026-07-03');
    expect(wall('2026-07-04T10:40:00Z')).toBe('2026-07-04T05:40');
  });

  test.each([
    ['America/Chicago', '2026-07-04', 0, '2026-07-04T05:00:00.000Z'],
    ['America/Chicago', '2026-03-08', 0, '2026-03-08T06:00:00.000Z'],
    ['America/Chicago', '2026-03-08', 1, '2026-03-09T05:00:00.000Z'],
    ['America/Chicago', '2026-11-01', 1, '2026-11-02T06:00:00.000Z'],
    ['Australia/Lord_Howe', '2026-04-05', 0, '2026-04-04T13:00:00.000Z'],
    ['Australia/Lord_Howe', '2026-04-05', 1, '2026-04-05T13:30:00.000Z'],
    ['UTC', '2026-12-31', 1, '2027-01-01T00:00:00.000Z'],
  ])('in %s the day %s plus %i begins at %s', (zone, text, plus, want) => {
    setZone(zone);
    expect(dayStart(text, plus)).toBe(want);
  });

  test('a wall time and its moment belong together', () => {
    setZone('America/Chicago');
    expect(instant('2026-07-04T05:40')).toBe('2026-07-04T10:40:00.000Z');
    expect(instant('someday')).toBeUndefined();
    expect(dayStart('')).toBeUndefined();
    expect(dayStart(undefined)).toBeUndefined();
  });

  test('a zone that nobody knows leaves the browser’s own', () => {
    const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
    setZone('Middle/Nowhere');
    expect(zoneName()).toBe(own);
  });

  test('a zone is called what people call it', () => {
    setZone('America/Denver');
    expect(zoneWords()).toBe('Mountain Time');
    setZone('Etc/GMT+3');
    expect(zoneWords()).toBe('GMT-03:00');
  });
});
