import { expect, test } from 'vitest';
import { airAhead, saidWeather } from './drafts.ts';

const weather = { airC: 24, rhPct: 55, wet: false };

test('weather goes into the record of a shift only where somebody said it', () => {
  expect(saidWeather({ said: true, weather })).toEqual({ weather });
  expect(saidWeather({ said: false, weather })).toEqual({});
  // A shift that was opened before the question was put.
  expect(saidWeather({ weather })).toEqual({});
  expect(saidWeather({ said: true })).toEqual({});
});

test('the air ahead is known where all of it was said; a part that nobody said is never taken for the better', () => {
  expect(airAhead(weather)).toEqual([{ hours: 240, tempC: 24, rhPct: 55, wet: false }]);
  expect(airAhead({ airC: 24, rhPct: 55 })).toBeUndefined();
  expect(airAhead({ wet: false })).toBeUndefined();
  expect(airAhead({})).toBeUndefined();
  expect(airAhead(undefined)).toBeUndefined();
  expect(airAhead({ wet: true })).toEqual([{ hours: 240, tempC: 0, rhPct: 100, wet: true }]);
});
