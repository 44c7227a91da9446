import { expect, test } from 'vitest';
import type { Place, RoundPlan, RoundStop, Setup } from '../src/engine/types.ts';
import {
  type Act,
  type BoatDraft,
  boatOf,
  done,
  inspectionOf,
  noCraft,
  secondsEach,
  settled,
  undone,
} from '../src/ramp/boat.ts';
import { legsOf, pumpedTogether } from '../src/ramp/legs.ts';

const T0 = Date.parse('2026-07-04T09:00:00Z');
const setup: Setup = { class: 'canoe_kayak', drives: ['hand'], spaces: [], gear: [], trailer: 'none' };
const site = { launch: 'l', water: 'w', outside: new Set(['far']), person: 'p' };
type Bare = Act extends infer A ? (A extends unknown ? Omit<A, 'at'> : never) : never;
const boat = (...acts: Bare[]) => {
  const draft: BoatDraft = {
    id: 'b',
    kind: 'boat',
    startedAt: '2026-07-04T09:00:00Z',
    acts: acts.map((a, i) => ({ ...a, at: T0 + i * 1000 }) as Act),
  };
  return boatOf(draft);
};
const stop = (place: string, tasks: RoundStop['tasks'] = ['look']): RoundStop => ({
  number: 1,
  station: 1,
  place,
  name: place,
  zone: 'hull',
  posture: 'stand',
  tasks,
  say: '',
  standXM: 1,
  standYM: -1,
  walkedM: 0,
  atS: 0,
  seconds: 2,
});

test('taking the last act back gives the boat as it was', () => {
  const acts: Bare[] = [
    { do: 'craft', setup },
    { do: 'water', water: 'w' },
    { do: 'out', outAt: '2026-07-02T23:59:59Z' },
    { do: 'stay', stay: 'day_use' },
    { do: 'checks', checks: [done(stop('a'), 'dry', 3)] },
  ];
  for (let n = 1; n < acts.length; n++) {
    const before = boat(...acts.slice(0, n));
    const after = boat(...acts.slice(0, n + 1).slice(0, -1));
    expect(inspectionOf(after, site)).toEqual(inspectionOf(before, site));
    expect(after.asking).toBe(before.asking);
  }
});

test('what the boater does not know stays unknown in the record', () => {
  const unsure = inspectionOf(boat({ do: 'craft', setup }, { do: 'water', water: '' }), site);
  expect(unsure.lastWaters).toEqual([{ water: '' }]);
  expect(unsure.outOfRegion).toBeUndefined();
  const noDate = inspectionOf(
    boat({ do: 'craft', setup }, { do: 'water', water: 'w' }, { do: 'out', outAt: null }, { do: 'stay', stay: '' }),
    site,
  );
  expect(noDate.lastWaters).toEqual([{ water: 'w' }]);
  expect(noDate.outOfRegion).toBe('no');
  expect(inspectionOf(boat({ do: 'craft', setup }, { do: 'water', water: 'far' }), site).outOfRegion).toBe('yes');
  // Nobody was asked yet: nothing is claimed.
  expect(inspectionOf(boat({ do: 'craft', setup }), site).outOfRegion).toBeUndefined();
});

test('a place is open until somebody says how wet it is or why it was not checked', () => {
  const found = boat(
    { do: 'craft', setup },
    { do: 'found', finding: { place: 'a', matter: 'plant' }, check: { place: 'a', looked: 'yes' } },
  );
  expect(settled(found, 'a')).toBe(false);
  expect(settled(boat({ do: 'checks', checks: [undone(stop('a'), 'no reach', true, 1)] }), 'a')).toBe(true);
  expect(settled(boat({ do: 'checks', checks: [done(stop('a'), 'dry', 1)] }), 'a')).toBe(true);
});

test('water that was found at a place is not dried by the answer for the rest', () => {
  const b = boat(
    { do: 'found', finding: { place: 'a', matter: 'water' }, check: { place: 'a', looked: 'yes', wet: 'water' } },
    { do: 'checks', checks: [done(stop('b'), 'dry', 1)] },
  );
  expect(b.checks.get('a')?.wet).toBe('water');
});

test('could not check says no to what was not done, and only then', () => {
  expect(undone(stop('a', ['look', 'feel', 'open']), 'r', true, 0)).toMatchObject({
    looked: 'yes',
    felt: 'no',
    opened: 'yes',
    reason: 'r',
  });
  expect(undone(stop('a', ['look', 'feel', 'open']), 'r', false, 0)).toMatchObject({
    looked: 'no',
    felt: 'no',
    opened: 'no',
  });
  expect(undone(stop('a'), 'r', false, 0)).not.toHaveProperty('felt');
});

test('what could not be checked and then was has no reason left; what is still left undone keeps it', () => {
  const at = stop('a', ['look', 'feel']);
  const no: Bare = { do: 'checks', checks: [undone(at, 'no time', false, 1)] };
  const after = (...acts: Bare[]) => inspectionOf(boat({ do: 'craft', setup }, no, ...acts), site).checks?.[0];
  expect(after()).toMatchObject({ looked: 'no', felt: 'no', reason: 'no time' });
  const checked = after({ do: 'checks', checks: [done(at, 'dry', 1)] });
  expect(checked).toMatchObject({ looked: 'yes', felt: 'yes', wet: 'dry' });
  expect(checked).not.toHaveProperty('reason');
  expect(after({ do: 'checks', checks: [{ place: 'a', wet: 'dry' }] })).toMatchObject({
    felt: 'no',
    reason: 'no time',
  });
  // Looked at and felt, but how wet it is was not said: the place stays settled by its reason.
  expect(after({ do: 'checks', checks: [{ place: 'a', looked: 'yes', felt: 'yes' }] })).toHaveProperty('reason');
});

test('a find entered by mistake goes with its photo, and its place is open again; the others keep theirs', () => {
  const find = (place: string): Bare => ({
    do: 'found',
    finding: { place, matter: 'plant' },
    check: { place, looked: 'yes' },
  });
  const photo = (finding: number): Bare => ({ do: 'photo', finding, sha256: `of ${finding}` });
  const three = [find('a'), find('b'), find('c'), photo(0), photo(1), photo(2)];
  const b = boat({ do: 'craft', setup }, ...three, { do: 'unfound', finding: 1 });
  expect(b.findings.map((f) => f.place)).toEqual(['a', 'c']);
  expect(b.photos).toEqual([
    { finding: 0, sha256: 'of 0' },
    { finding: 1, sha256: 'of 2' },
  ]);
  expect(settled(b, 'b')).toBe(false);
});

test('time spent is the time since the act before, shared', () => {
  const b = boat({ do: 'craft', setup }, { do: 'water', water: '' });
  expect(secondsEach(b, T0 + 1000 + 12_000, 4)).toBe(3);
  expect(secondsEach(b, T0 - 60_000, 4)).toBe(0); // a clock set back counts nothing
});

test('a correction keeps what it supersedes; a wash opens every place again', () => {
  const sealed: Bare = { do: 'sealed', entry: 'e1', subject: 'b' };
  const b = boat({ do: 'checks', checks: [done(stop('a'), 'dry', 1)] }, sealed, { do: 'reopened', why: 'tap' });
  expect(b.correcting).toEqual({ entry: 'e1', subject: 'b', why: 'tap' });
  expect(b.sealed).toBeUndefined();
  const washed = boat(
    { do: 'checks', checks: [done(stop('a'), 'dry', 1)] },
    { do: 'washed', washedAt: 'x', startedAt: 'y' },
  );
  expect(washed.checks.size).toBe(0);
});

test('a look again begins anew in the act that opens the record, and one step back leaves the record as it was', () => {
  const look: Bare = { do: 'checks', checks: [done(stop('a'), 'dry', 1)] };
  const sealed: Bare = { do: 'sealed', entry: 'e1', subject: 'b' };
  const again = boat(look, sealed, { do: 'reopened', why: 'dried', again: { startedAt: 'later' } });
  expect(again.checks.size).toBe(0);
  expect(again.startedAt).toBe('later');
  expect(again.washedAt).toBeUndefined();
  expect(again.acts.at(-2)?.do).toBe('sealed');
  const washed = boat(look, sealed, {
    do: 'reopened',
    why: 'washed',
    again: { startedAt: 'later', washedAt: 'before' },
  });
  expect(washed.washedAt).toBe('before');
  expect(washed.checks.size).toBe(0);
});

test('a refusal that is taken back leaves a boat to be asked and looked at', () => {
  const sealed: Bare = { do: 'sealed', entry: 'e1', subject: 'b' };
  const back: Bare = { do: 'reopened', why: 'agreed' };
  const refused: Bare = { do: 'refused', why: 'No time', note: 'Refused: no time.' };
  const unseen = boat({ do: 'craft', setup: noCraft }, refused, sealed, back);
  expect(unseen.refused).toBeUndefined();
  expect(unseen.setup).toBeUndefined(); // nobody named it: its picture is asked for
  expect(unseen.asking).toBe('water');
  expect(inspectionOf(unseen, site).note).toBeUndefined();
  expect(inspectionOf(unseen, site).refused).toBeUndefined();
  const met = boat({ do: 'craft', setup }, { do: 'water', water: '' }, refused, sealed, back);
  expect(met.setup).toEqual(setup);
  expect(met.asking).toBeUndefined();
});

test('legs hold every stop once, in the order of the walk, none longer than a screen', () => {
  const at = (n: number, more: Partial<RoundStop>): RoundStop => ({
    ...stop(`s${n}`),
    number: n,
    station: Math.ceil(n / 2),
    ...more,
  });
  const stops = [
    ...Array.from({ length: 21 }, (_, i) => at(i + 1, { standYM: -1, standXM: 3 - i * 0.1 })),
    at(22, { standXM: -1 }),
    ...Array.from({ length: 3 }, (_, i) => at(23 + i, { standYM: 1 })),
    at(26, { posture: 'aboard' }),
    at(27, { posture: 'aboard' }),
    at(28, { zone: 'gear' }),
  ];
  const places = stops.map((s) => ({ id: s.place, hidden: s.place === 's27' }) as Place);
  const legs = legsOf({ stops } as RoundPlan, places, 5);
  expect(legs.flatMap((l) => l.stops)).toEqual(stops);
  expect(Math.max(...legs.map((l) => l.stops.length))).toBeLessThanOrEqual(8);
  expect(legs.find((l) => l.side === 'hidden')?.stops.map((s) => s.place)).toEqual(['s27']);
  expect(legs.map((l) => l.n)).toEqual(legs.map((_, i) => i + 1));
});

test('what ballast pumps empty is asked about together; every other place that nobody sees into alone', () => {
  const kinds = [
    { id: 'ballast_tank.1', part: 'ballast', hidden: true },
    { id: 'tank', part: 'well', hidden: true },
    { id: 'ballast_bag', part: 'ballast', hidden: false },
    { id: 'ballast.plumbing', part: 'ballast', hidden: true },
    { id: 'inboard.cooling', part: 'engine', hidden: true },
  ] as Place[];
  const round = { stops: kinds.map((p) => stop(p.id)) } as RoundPlan;
  const asked = kinds.map((p) => pumpedTogether(round, kinds, p).map((s) => s.place));
  const pumps = ['ballast_tank.1', 'ballast.plumbing'];
  expect(asked).toEqual([pumps, ['tank'], ['ballast_bag'], pumps, ['inboard.cooling']]);
});
