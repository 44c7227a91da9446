import { expect, test } from 'vitest';
import type { DrillCraft, RoundOut, Sight } from '../engine/types.ts';
import { answeredIn, draftOf, readDraft, resume } from './draft.ts';
import { act, answer, arrive, begin, turnOf } from './drill.ts';

const round = { round: { stops: [{ place: 'a' }, { place: 'b' }] } } as unknown as RoundOut;
const craft = { id: 'd', places: [{ id: 'a' }, { id: 'b' }] } as unknown as DrillCraft;
const sight = { says: [] } as unknown as Sight;

/** Two places: ten seconds at the first, four at the second before it is left. */
function halfDone() {
  const first = answer(act(begin(craft, round, 1000), 'a', 'look', sight, 3000), 'a', 'dry', undefined, 11_000);
  return act(arrive(first, 'b', 11_000), 'b', 'look', sight, 15_000);
}

test('a drill that was left comes back at the same place with what was done', () => {
  const kept = JSON.parse(JSON.stringify(draftOf('round', 'list', halfDone(), 15_000)));
  const draft = readDraft(kept);
  expect(draft && answeredIn(draft)).toBe(1);
  expect(kept.doing.round).toBeUndefined();
  const back = draft && resume(draft, round, 15_000);
  expect(back).toEqual(halfDone());
});

test('an hour away is no hour at a place', () => {
  const hour = 3_600_000;
  const turn = (away: number) => {
    const back = resume(draftOf('round', 'drawn', halfDone(), 15_000), round, 15_000 + away);
    return turnOf(answer(back, 'b', 'dry', undefined, 17_000 + away), 'launch', [], 17_000 + away);
  };
  expect(turn(hour)).toEqual(turn(0));
  expect(turn(hour).walk.map((s) => s.seconds)).toEqual([10, 6]);
});

test('a clock that was set back adds nothing', () => {
  const back = resume(draftOf('round', 'drawn', halfDone(), 15_000), round, 1);
  expect(back.arrivedAt).toBe(halfDone().arrivedAt);
});

test('what is no draft, or one of another form, is not read', () => {
  expect(readDraft(undefined)).toBeUndefined();
  expect(readDraft(null)).toBeUndefined();
  expect(readDraft({ form: 99, doing: {} })).toBeUndefined();
});
