import { describe, expect, test } from 'vitest';
import { editionDifferences } from './editions.ts';

const wash = (more: object = {}) => ({ part: 'hull', method: 'high_spray', tempC: 60, contactS: 10, ...more });
const one = (before: object, after: object, units: 'metric' | 'us' = 'metric') =>
  editionDifferences({ ...before }, { ...after }, units).map(({ part, label, before, after }) => ({
    part,
    label,
    before,
    after,
  }));

describe('two editions side by side', () => {
  test('the same edition does not differ, whatever the order of its names and what the server adds', () => {
    const a = { safetyFactor: 2, criteria: { water: 'none', mudFails: true } };
    const b = { $schema: 'x', criteria: { mudFails: true, water: 'none' }, safetyFactor: 2, always: [] };
    expect(editionDifferences(a, b, 'metric')).toEqual([]);
  });

  test('are told in the words of the form', () => {
    expect(one({ safetyFactor: 2, sameWaterExempt: false }, { safetyFactor: 3, sameWaterExempt: true })).toEqual([
      {
        part: 'Craft from waters at risk',
        label: 'Straight back to the same water is free',
        before: 'no',
        after: 'yes',
      },
      { part: 'Washing', label: 'Times every published lethal bound', before: '2', after: '3' },
    ]);
    expect(one({ criteria: { water: 'none' } }, { criteria: { water: 'limit', waterLimitMl: 250 } })).toEqual([
      { part: 'Standards and what fails them', label: 'Water that may stay aboard', before: 'none', after: 'limit' },
      { part: 'Standards and what fails them', label: 'At most', before: 'not said', after: '250\u00a0mL' },
    ]);
    expect(one({ lookBackDays: 0 }, { lookBackDays: 30 })[0]).toMatchObject({ before: 'ever', after: '30 days' });
    expect(one({ afterRisk: 'wash_or_dry' }, { afterRisk: 'wash' })[0]).toMatchObject({
      label: 'What a clean, drained, dry craft still owes',
      before: 'wash or dry',
      after: 'wash',
    });
  });

  test('numbers have the unit of the programme, and no difference disappears in rounding', () => {
    const before = { wash: [wash()] };
    const after = { wash: [wash({ tempC: 60.2, contactS: 130 })] };
    expect(one(before, after, 'us')).toEqual([
      {
        part: 'Own lines for washing',
        label: 'hull',
        before: ['At least: 140\u00a0°F (60\u00a0°C)', 'For: 10\u00a0s'],
        after: ['At least: 140\u00a0°F (60.2\u00a0°C)', 'For: 2\u00a0min 10\u00a0s (130\u00a0s)'],
      },
    ]);
    expect(one(before, after)[0]).toMatchObject({ before: ['At least: 60\u00a0°C', 'For: 10\u00a0s'] });
    const pressed = { wash: [wash({ pressureMaxBar: 4.136854375901017 })] };
    expect(one(before, pressed, 'us')[0]).toMatchObject({
      before: ['Pressure, at most: not said'],
      after: ['Pressure, at most: 60\u00a0psi (4.136854\u00a0bar)'],
    });
  });

  test('a line is found again by what it is for, not by its place', () => {
    const gear = wash({ part: 'gear', method: 'soak' });
    expect(one({ wash: [wash()] }, { wash: [gear, wash()] })).toEqual([
      {
        part: 'Own lines for washing',
        label: 'gear',
        before: 'no such line',
        after: ['Part: gear', 'Method: soak', 'At least: 60\u00a0°C', 'For: 10\u00a0s'],
      },
    ]);
    expect(one({ wash: [wash(), gear] }, { wash: [gear, wash()] })).toEqual([
      {
        part: 'Own lines for washing',
        label: 'Order of the lines',
        before: ['hull', 'gear'],
        after: ['gear', 'hull'],
      },
    ]);
    const twice = [wash(), wash({ tempC: 70 })];
    expect(one({ wash: twice }, { wash: [wash(), wash({ tempC: 65 })] })).toMatchObject([
      { label: 'hull (2)', before: ['At least: 70\u00a0°C'], after: ['At least: 65\u00a0°C'] },
    ]);
  });

  test('a list says what is only on one side, and how many are on both', () => {
    expect(one({ notes: ['a', 'b', 'c'] }, { notes: ['b', 'c', 'd'] })[0]).toMatchObject({
      label: 'Notes',
      before: ['a', 'and 2 that both have'],
      after: ['d', 'and 2 that both have'],
    });
    expect(one({ dryTables: ['bc'] }, {})[0]).toMatchObject({ before: ['bc'], after: ['not said'] });
    expect(one({ requires: ['clean'] }, { requires: ['clean', 'dry'] })[0]).toMatchObject({
      label: 'A craft must be',
      before: 'clean',
      after: 'clean, dry',
    });
    expect(one({ sources: ['a', 'b'] }, { sources: ['b', 'a'] })[0]).toMatchObject({ before: ['a', 'b'] });
  });

  test('what has no words is shown under its name in the record, at any depth', () => {
    const differ = editionDifferences(
      { tideLimits: { highWaterCm: 20 }, stops: [{ nearBy: 'x' }], plainOne: 1 },
      { tideLimits: { highWaterCm: 30 }, stops: [{ nearBy: 'y' }, { nearBy: 'z' }], plainOne: { a: [1, 2] } },
      'metric',
    );
    expect(differ).toEqual([
      {
        path: 'tideLimits.highWaterCm',
        part: 'Tide limits',
        label: 'High water cm',
        known: false,
        before: '20',
        after: '30',
      },
      { path: 'stops[0]', part: 'Stops', label: 'Line 1', known: false, before: ['Near by: x'], after: ['Near by: y'] },
      { path: 'stops[1]', part: 'Stops', label: 'Line 2', known: false, before: 'no such line', after: ['Near by: z'] },
      { path: 'plainOne', part: '', label: 'Plain one', known: false, before: '1', after: 'A: 1, 2' },
    ]);
    expect(one({ words: { hold: 'quarantine' } }, {})).toEqual([
      { part: '', label: 'Its own word for “hold”', before: 'quarantine', after: 'not said' },
    ]);
  });

  test('a tested drying time and an agent are told with their units', () => {
    const tested = { organism: 'spiny_water_flea', stage: 'resting_egg', hours: 6, minTempC: 17, margin: 2 };
    expect(one({}, { testedDrying: [tested] })[0]).toMatchObject({
      label: 'spiny water flea, resting egg',
      after: [
        'Organism: spiny water flea',
        'Stage of life: resting egg',
        'Tested time: 6\u00a0h',
        'No cooler than: 17\u00a0°C',
        'Times the tested time: 2',
      ],
    });
    expect(
      one({ chemicals: [{ agent: 'salt', contactS: 14400 }] }, { chemicals: [{ agent: 'salt', contactS: 60 }] })[0],
    ).toMatchObject({
      part: 'Agents for where heat cannot be used',
      label: 'salt',
      before: ['For: 4\u00a0h (14,400\u00a0s)'],
      after: ['For: 1\u00a0min (60\u00a0s)'],
    });
  });
});
