// What may be done with a boat in each standing: the whole table, so that an offer added somewhere has to be thought of everywhere.
import { expect, test } from 'vitest';
import { boatOf, type NewAct } from '../src/ramp/boat.ts';
import { may, type Offer, type Standing, standingOf, standingOnRecord } from '../src/ramp/offers.ts';

const table: Record<Standing, Record<Offer, boolean>> = {
  launch: {
    card: true,
    receipt: true,
    dry: false,
    order: false,
    over: false,
    again: false,
    override: true,
    change: true,
    incident: true,
  },
  fix_here: {
    card: true,
    receipt: true,
    dry: false,
    order: false,
    over: false,
    again: true,
    override: true,
    change: true,
    incident: true,
  },
  wash: {
    card: true,
    receipt: true,
    dry: true,
    order: true,
    over: true,
    again: true,
    override: true,
    change: true,
    incident: true,
  },
  dry: {
    card: true,
    receipt: true,
    dry: true,
    order: false,
    over: false,
    again: true,
    override: true,
    change: true,
    incident: true,
  },
  hold: {
    card: true,
    receipt: true,
    dry: false,
    order: false,
    over: false,
    again: false,
    override: true,
    change: true,
    incident: true,
  },
  refused: {
    card: true,
    receipt: false,
    dry: false,
    order: false,
    over: false,
    again: false,
    override: false,
    change: true,
    incident: true,
  },
};

test.each(Object.keys(table) as Standing[])('what may be done with a boat that stands at %s', (standing) => {
  const offers = Object.keys(table[standing]) as Offer[];
  expect(Object.fromEntries(offers.map((o) => [o, may(standing, o)]))).toEqual(table[standing]);
});

const draft = (...acts: NewAct[]) =>
  boatOf({ id: 'b', kind: 'boat', startedAt: 't', acts: acts.map((a, i) => ({ ...a, at: i })) as never });
const sealed = { do: 'sealed', entry: 'e', subject: 'b' } as const;

test('a refusal stands whatever was judged, a person’s word before the computed one, and what nobody knows is held', () => {
  const washed = { ...sealed, verdict: { outcome: 'wash' } } as unknown as NewAct;
  const held = { do: 'override', override: { outcome: 'hold', by: 'p', why: 'w' } } as NewAct;
  expect(standingOnRecord(draft(washed))).toBe('wash');
  expect(standingOnRecord(draft(held, washed))).toBe('hold');
  expect(standingOnRecord(draft({ do: 'refused', why: 'w', note: 'n' }, washed))).toBe('refused');
  expect(standingOnRecord(draft(sealed))).toBe('hold');
  expect(standingOf({}, 'something new')).toBe('hold');
});
