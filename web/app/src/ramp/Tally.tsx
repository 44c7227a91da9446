import type { Tally as TallyBody } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Go } from '../parts/Tiles.tsx';
import { noTallies, type ShiftDraft, type Tallies } from './drafts.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { isoLocal, type RampState, useRamp } from './state.tsx';

const kinds = ['passedBy', 'refused', 'turnedAway'] as const;

/** Seals what was counted since the last time; nothing where nothing was. */
export async function sealTally(ramp: RampState, shift: ShiftDraft): Promise<boolean> {
  const t = shift.tally;
  if (t.passedBy + t.refused + t.turnedAway === 0) return true;
  const body: TallyBody = { shift: shift.entry, at: isoLocal(new Date()), ...t };
  const counted: Tallies = {
    passedBy: shift.counted.passedBy + t.passedBy,
    refused: shift.counted.refused + t.refused,
    turnedAway: shift.counted.turnedAway + t.turnedAway,
  };
  return ramp.saving(async () => {
    await local.seal('tally', body);
    await ramp.keepNow({ ...shift, tally: noTallies, counted }, '');
  });
}

/** Boats that were met and not looked at, so that the hours stay honest. */
export function TallyScreen() {
  const say = useSay();
  const ramp = useRamp();
  const shift = ramp.shift;
  if (!shift) return null;
  const change = (k: (typeof kinds)[number], by: number) =>
    ramp.save({ ...shift, tally: { ...shift.tally, [k]: Math.max(0, shift.tally[k] + by) } });
  const any = kinds.some((k) => shift.tally[k] > 0);
  return (
    <Frame
      acts={
        <Go
          onClick={async () => {
            if (await sealTally(ramp, shift)) go('home');
          }}
        >
          {say(any ? 'tally.keep' : 'walk.back')}
        </Go>
      }
    >
      <h1>{say('tally.title')}</h1>
      <p>{say('tally.why')}</p>
      {kinds.map((k) => (
        <section key={k} className="tally-row">
          <button type="button" data-quick className="tile tally-plus" onClick={() => change(k, 1)}>
            <span className="tile-words">
              <span className="tile-word">{say(`tally.${k}`)}</span>
              <span className="tile-sub">{say('tally.before', { n: shift.counted[k] })}</span>
            </span>
            <output className="big-num">{shift.tally[k]}</output>
          </button>
          <button
            type="button"
            data-quick
            className="tile"
            disabled={shift.tally[k] === 0}
            aria-label={say('tally.less', { what: say(`tally.${k}`) })}
            onClick={() => change(k, -1)}
          >
            −1
          </button>
        </section>
      ))}
    </Frame>
  );
}
