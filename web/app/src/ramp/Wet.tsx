import { useState } from 'react';
import type { Check, RoundStop, Wetness } from '../engine/types.ts';
import { type Key, useSay } from '../messages/index.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, done, secondsEach, undone } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useRamp } from './state.tsx';
import { Why } from './Why.tsx';

/** Picks one place of a leg, or all of them. */
export function PlacePick({
  title,
  stops,
  all,
  onPick,
  onBack,
}: {
  title: Key;
  stops: readonly RoundStop[];
  all?: Key;
  onPick: (s: readonly RoundStop[]) => void;
  onBack: () => void;
}) {
  const say = useSay();
  return (
    <Frame
      leave={onBack}
      at="place"
      acts={
        <>
          {all && stops.length > 1 ? <Tile onClick={() => onPick(stops)}>{say(all, { n: stops.length })}</Tile> : null}
          <Tile icon="undo" onClick={onBack}>
            {say('walk.back')}
          </Tile>
        </>
      }
    >
      <h1>{say(title)}</h1>
      <Tiles across={1}>
        {stops.map((s) => (
          <Tile key={s.place} onClick={() => onPick([s])}>
            <span className="num">{s.number}</span> {s.name}
          </Tile>
        ))}
      </Tiles>
    </Frame>
  );
}

const wets = ['damp', 'film', 'water'] as const;

/** Wet without a find: where, and how wet. */
export function WetSteps({ boat, stops, onDone }: { boat: Boat; stops: readonly RoundStop[]; onDone: () => void }) {
  const say = useSay();
  const { act } = useRamp();
  const [chosen, setChosen] = useState<readonly RoundStop[] | undefined>(stops.length === 1 ? stops : undefined);
  if (!chosen) return <PlacePick title="wet.where" all="wet.all" stops={stops} onPick={setChosen} onBack={onDone} />;
  const back = () => (stops.length === 1 ? onDone() : setChosen(undefined));
  const pick = async (wet: Wetness) => {
    const each = secondsEach(boat, Date.now(), chosen.length);
    if (await act(boat.id, { do: 'checks', checks: chosen.map((s) => done(s, wet, each)) })) onDone();
  };
  return (
    <Frame
      leave={back}
      at="how-wet"
      acts={
        <>
          <Tiles across={1}>
            {wets.map((w) => (
              <Tile key={w} icon={w === 'water' ? 'water' : 'damp'} onClick={() => pick(w)} sub={say(`wet.${w}Sub`)}>
                {say(`wet.${w}`)}
              </Tile>
            ))}
          </Tiles>
          <Tiles>
            <Tile icon="undo" onClick={back}>
              {say('walk.back')}
            </Tile>
            <Tile onClick={() => pick('dry')}>{say('wet.dryAfterAll')}</Tile>
          </Tiles>
        </>
      }
    >
      <h1>{chosen.length === 1 ? chosen[0]?.name : say('wet.these', { n: chosen.length })}</h1>
      <p>{say('wet.how')}</p>
    </Frame>
  );
}

/** Why a place was not checked. Only the first says that eyes were on it. */
const reasons: readonly { readonly key: Key; readonly looked: boolean }[] = [
  { key: 'unchecked.noReach', looked: true },
  { key: 'unchecked.noSight', looked: false },
  { key: 'unchecked.notOpened', looked: true },
  { key: 'unchecked.notAllowed', looked: false },
  { key: 'unchecked.unsafe', looked: false },
  { key: 'unchecked.noTime', looked: false },
];

/** "Could not check" needs a reason; it never makes the verdict milder. */
export function UncheckedSteps({
  boat,
  stops,
  onDone,
}: {
  boat: Boat;
  stops: readonly RoundStop[];
  onDone: () => void;
}) {
  const say = useSay();
  const { act } = useRamp();
  const [chosen, setChosen] = useState<readonly RoundStop[] | undefined>(stops.length === 1 ? stops : undefined);
  if (!chosen)
    return <PlacePick title="unchecked.which" all="unchecked.all" stops={stops} onPick={setChosen} onBack={onDone} />;
  const pick = async (why: string, key?: Key) => {
    const looked = reasons.find((r) => r.key === key)?.looked ?? false;
    const each = secondsEach(boat, Date.now(), chosen.length);
    const checks = chosen.map((s): Check => {
      const c = undone(s, why, looked, each);
      return key === 'unchecked.notOpened' && c.opened ? { ...c, opened: 'no' } : c;
    });
    if (await act(boat.id, { do: 'checks', checks })) onDone();
  };
  return (
    <Why
      at="why"
      title="unchecked.why"
      reasons={reasons.map((r) => r.key)}
      onPick={pick}
      onBack={() => (stops.length === 1 ? onDone() : setChosen(undefined))}
    >
      <p>{chosen.map((s) => s.name).join(', ')}</p>
      <p>{say('unchecked.counts')}</p>
    </Why>
  );
}
