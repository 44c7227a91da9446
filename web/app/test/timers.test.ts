import { expect, test } from 'vitest';
import { advance, elapsedMs, type Reading, type Timer } from '../src/local/timers.ts';

const at = (wallMs: number, monoMs: number, session = 'a', wasHidden = false): Reading => ({
  wallMs,
  monoMs,
  session,
  wasHidden,
});
const started: Timer = { id: 't', startedAt: '', running: true, countedMs: 0, last: at(1e12, 500) };

test('ten minutes are ten minutes', () => {
  let t = started;
  for (let s = 5; s <= 600; s += 5) t = advance(t, at(1e12 + s * 1000, 500 + s * 1000));
  expect(t.countedMs).toBe(600_000);
  expect(t.clockMoved ?? t.byWallClock).toBeUndefined();
});

test('a wall clock moved by a day while the page is seen counts nothing', () => {
  for (const jump of [86_400_000, -86_400_000, 3_600_000, -1e12]) {
    const t = advance(started, at(1e12 + 10_000 + jump, 10_500));
    expect(t.countedMs).toBe(10_000);
    expect(t.clockMoved).toBe(true);
  }
});

test('a phone that slept with the screen locked has its time from the wall clock', () => {
  const t = advance(started, at(1e12 + 300_000, 500 + 20_000, 'a', true));
  expect(t).toMatchObject({ countedMs: 300_000, byWallClock: true });
});

test('an app that was killed goes on from the wall clock, never backwards, never by an impossible gap', () => {
  expect(advance(started, at(1e12 + 60_000, 3, 'b')).countedMs).toBe(60_000);
  expect(advance(started, at(1e12 - 60_000, 3, 'b'))).toMatchObject({ countedMs: 0, clockMoved: true });
  expect(advance(started, at(1e12 + 40 * 3_600_000, 3, 'b'))).toMatchObject({ countedMs: 0, clockMoved: true });
});

test('a paused timer stands still', () => {
  const paused = { ...advance(started, at(1e12 + 4000, 4500)), running: false };
  expect(elapsedMs(paused, at(1e12 + 90_000, 90_500))).toBe(4000);
});
