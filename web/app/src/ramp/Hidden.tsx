import type { Check, Place, Wetness } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, secondsEach } from './boat.ts';
import { useRamp } from './state.tsx';

/**
 * A place nobody can see into. It is asked what ran out of it, and whether the pump ran until it sucked air; everything but a plain yes
 * leaves it wet.
 */
export function HiddenAnswers({
  boat,
  place,
  onDone,
  onUnchecked,
}: {
  boat: Boat;
  place: Place;
  onDone: () => void;
  onUnchecked: () => void;
}) {
  const say = useSay();
  const { act } = useRamp();
  const drains = place.part === 'engine';
  const answer = async (ranDry: 'yes' | 'no' | '', wet: Wetness) => {
    const seconds = secondsEach(boat, Date.now(), 1);
    const check: Check = {
      place: place.id,
      seconds,
      wet,
      looked: 'yes',
      ...(place.tasks.includes('open') ? { opened: 'yes' } : {}),
      ...(place.tasks.includes('feel') ? { felt: 'yes' } : {}),
      ...(drains ? {} : ranDry ? { ranDry } : {}),
    };
    if (await act(boat.id, { do: 'checks', checks: [check] })) onDone();
  };
  return (
    <>
      <Tiles>
        <Tile icon="water" onClick={() => answer('no', 'water')}>
          {say(drains ? 'hidden.runs' : 'hidden.notDry')}
        </Tile>
        <Tile icon="unseen" onClick={onUnchecked}>
          {say('walk.unchecked')}
        </Tile>
      </Tiles>
      <Go onClick={() => answer('yes', drains ? 'dry' : 'film')} sub={say(drains ? 'hidden.noneSub' : 'hidden.drySub')}>
        {say(drains ? 'hidden.none' : 'hidden.dry')}
      </Go>
    </>
  );
}
