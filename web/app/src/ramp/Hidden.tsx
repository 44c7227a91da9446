import type { Check, Place, Wetness } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, secondsEach } from './boat.ts';
import { useRamp } from './state.tsx';

/**
 * Places nobody can see into, of one kind. It is asked what ran out of them, and whether their pumps ran until they sucked air; everything
 * but a plain yes for all of them leaves them wet.
 */
export function HiddenAnswers({
  boat,
  places,
  onDone,
  onUnchecked,
}: {
  boat: Boat;
  places: readonly Place[];
  onDone: () => void;
  onUnchecked: () => void;
}) {
  const say = useSay();
  const { act } = useRamp();
  const drains = places.some((p) => p.part === 'engine');
  const answer = async (ranDry: 'yes' | 'no' | '', wet: Wetness) => {
    const seconds = secondsEach(boat, Date.now(), places.length);
    const checks = places.map<Check>((place) => ({
      place: place.id,
      seconds,
      wet,
      looked: 'yes',
      ...(place.tasks.includes('open') ? { opened: 'yes' } : {}),
      ...(place.tasks.includes('feel') ? { felt: 'yes' } : {}),
      ...(drains ? {} : ranDry ? { ranDry } : {}),
    }));
    if (await act(boat.id, { do: 'checks', checks })) onDone();
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
        {say(drains ? 'hidden.none' : places.length > 1 ? 'hidden.allDry' : 'hidden.dry')}
      </Go>
    </>
  );
}
