import type { Boat } from './boat.ts';
import { call, useAnswer } from './state.tsx';

/** The walk round this craft, the way round that was chosen. */
export function useWalk(boat: Boat, turned: boolean) {
  const setup = boat.setup;
  return useAnswer(
    () => setup && call('round', { setup, reverse: boat.turned !== turned }),
    [JSON.stringify(setup), boat.turned, turned],
    true,
  );
}
