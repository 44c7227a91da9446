import { expect, test } from 'vitest';
import { saidWeather } from './drafts.ts';

const weather = { airC: 24, rhPct: 55, wet: false };

test('weather goes into the record of a shift only where somebody said it', () => {
  expect(saidWeather({ said: true, weather })).toEqual({ weather });
  expect(saidWeather({ said: false, weather })).toEqual({});
  // A shift that was opened before the phone asked for the records.
  expect(saidWeather({ weather })).toEqual({});
  expect(saidWeather({ said: true })).toEqual({});
});
