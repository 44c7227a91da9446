import { useState } from 'react';
import type { RoundOut, RoundStop } from '../engine/types.ts';
import { type Key, useSay } from '../messages/index.tsx';
import { Icon } from '../parts/Icon.tsx';
import { Rig } from '../parts/Rig.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { useAwake } from '../phone/index.ts';
import { type Boat, done, outletsOf, secondsEach, settled } from './boat.ts';
import { FindingCard, FoundSteps } from './Found.tsx';
import { Frame } from './Frame.tsx';
import { HiddenAnswers } from './Hidden.tsx';
import { type Leg, legsOf, nameOf, pumpedTogether } from './legs.ts';
import { Outlets } from './Prompt.tsx';
import { go } from './route.ts';
import { useRamp } from './state.tsx';
import { UncheckedSteps, WetSteps } from './Wet.tsx';

type Doing = 'leg' | 'found' | 'wet' | 'unchecked' | 'map';

/** One stretch of the walk: what is there to look at, feel and open; then what was found. */
export function Walk({
  boat,
  walk,
  onOutfit,
  onVerdict,
}: {
  boat: Boat;
  walk: RoundOut;
  onOutfit: () => void;
  onVerdict?: (() => void) | undefined;
}) {
  const { library } = useRamp();
  const craft = library?.classes.find((c) => c.id === boat.setup?.class);
  const lengthM = boat.setup?.lengthM || craft?.lengthM || 6;
  const legs = legsOf(walk.round, walk.places, lengthM);
  const open = legs.find((l) => l.stops.some((s) => !settled(boat, s.place)));
  const [chosen, setChosen] = useState<number>();
  const [doing, setDoing] = useState<{ what: Doing; place?: string }>({ what: 'leg' });
  useAwake(true);
  const at = legs.find((l) => l.n === chosen) ?? open ?? legs[0];
  if (!at || !boat.setup) return null;
  const hidden = hiddenAt(walk, at);
  const leg = hidden ? { ...at, stops: pumpedTogether(walk.round, walk.places, hidden) } : at;
  const back = () => setDoing({ what: 'leg' });
  const onward = () => {
    setChosen(undefined);
    back();
  };
  const rest = leg.stops.filter((s) => !settled(boat, s.place));
  // Once this leg is answered, is there another one to answer?
  const others = legs.some((l) => l.n !== leg.n && l.stops.some((s) => !settled(boat, s.place) && !rest.includes(s)));
  switch (doing.what) {
    case 'found':
      return <FoundSteps boat={boat} stops={leg.stops} place={doing.place} onDone={back} />;
    case 'wet':
      return (
        <WetSteps
          boat={boat}
          stops={doing.place ? leg.stops.filter((s) => s.place === doing.place) : leg.stops}
          onDone={back}
        />
      );
    case 'unchecked':
      return (
        <UncheckedSteps
          boat={boat}
          stops={doing.place ? leg.stops.filter((s) => s.place === doing.place) : rest.length ? rest : leg.stops}
          onDone={back}
        />
      );
    case 'map':
      return (
        <WalkMap
          {...{
            boat,
            walk,
            legs,
            leg,
            lengthM,
            profile: craft?.profile ?? 'vee',
            beamM: boat.setup.beamM || craft?.beamM || 2,
          }}
          onPick={(n) => {
            setChosen(n);
            back();
          }}
          onBack={back}
          onOutfit={onOutfit}
        />
      );
    default:
      return (
        <LegScreen
          {...{
            boat,
            walk,
            legs,
            leg,
            rest,
            lengthM,
            profile: craft?.profile ?? 'vee',
            beamM: boat.setup.beamM || craft?.beamM || 2,
            onward: others ? onward : (onVerdict ?? onward),
            setDoing,
          }}
        />
      );
  }
}

interface Shown {
  boat: Boat;
  walk: RoundOut;
  legs: readonly Leg[];
  leg: Leg;
  lengthM: number;
  beamM: number;
  profile: string;
}

/** The place of a leg that nobody can see into. */
const hiddenAt = (walk: RoundOut, leg: Leg) =>
  leg.side === 'hidden' ? walk.places.find((p) => p.id === leg.stops[0]?.place) : undefined;

export function legState(boat: Boat, leg: Leg): 'open' | 'done' {
  return leg.stops.every((s) => settled(boat, s.place)) ? 'done' : 'open';
}

function useLegName() {
  const say = useSay();
  return (leg: Leg) => {
    const side = say(`leg.${leg.side}`);
    return leg.part ? say('leg.part', { side, n: leg.part.n, of: leg.part.of }) : side;
  };
}

function LegScreen({
  boat,
  walk,
  legs,
  leg,
  rest,
  lengthM,
  beamM,
  profile,
  onward,
  setDoing,
}: Shown & { rest: readonly RoundStop[]; onward: () => void; setDoing: (d: { what: Doing; place?: string }) => void }) {
  const say = useSay();
  const { act } = useRamp();
  const legName = useLegName();
  const hidden = hiddenAt(walk, leg);
  const name = hidden ? (leg.stops.length > 1 ? say('hidden.pumps') : hidden.name) : legName(leg);
  const asked = walk.places.filter((p) => (rest.length ? rest : leg.stops).some((s) => s.place === p.id));
  const found = boat.findings.filter((f) => leg.stops.some((s) => s.place === f.place));
  const clear = async () => {
    const each = secondsEach(boat, Date.now(), rest.length);
    if (await act(boat.id, { do: 'checks', checks: rest.map((s) => done(s, 'dry', each)) })) onward();
  };
  const cautions = [...new Set(leg.stops.flatMap((s) => s.cautions ?? []))];
  const drawing = (
    <button type="button" className="rig-button" onClick={() => setDoing({ what: 'map' })}>
      <RigOf {...{ boat, walk, legs, leg, lengthM, beamM, profile }} />
      <span className="hidden-words">{say('walk.map')}</span>
    </button>
  );
  const mind = cautions.length ? (
    <div className="caution at-hand">
      {cautions.map((c) => (
        <p key={c}>{c}</p>
      ))}
    </div>
  ) : null;
  const stops = (
    <ol className="rows" aria-label={say('walk.places', { n: leg.stops.length })}>
      {leg.stops.map((s) => (
        <StopRow key={s.place} stop={s} boat={boat} onOpen={() => setDoing({ what: 'found', place: s.place })} />
      ))}
    </ol>
  );
  return (
    <Frame
      undo={boat.id}
      at={`leg-${leg.n}`}
      neat={legs.map((l) => (l.n === leg.n ? 'here' : legState(boat, l)))}
      acts={
        hidden ? (
          <HiddenAnswers
            boat={boat}
            places={asked}
            onDone={onward}
            onUnchecked={() => setDoing({ what: 'unchecked' })}
          />
        ) : (
          <>
            <Tiles across={3}>
              <Tile icon="plant" onClick={() => setDoing({ what: 'found' })}>
                {say('walk.found')}
              </Tile>
              <Tile icon="water" onClick={() => setDoing({ what: 'wet' })}>
                {say('walk.wet')}
              </Tile>
              <Tile icon="unseen" onClick={() => setDoing({ what: 'unchecked' })}>
                {say('walk.unchecked')}
              </Tile>
            </Tiles>
            {rest.length > 0 ? (
              <Go onClick={clear} sub={say('walk.clearSub', { n: rest.length })}>
                {say(found.length || rest.length < leg.stops.length ? 'walk.elseClear' : 'walk.clear')}
              </Go>
            ) : (
              <Go onClick={onward}>
                {say(legs.every((l) => legState(boat, l) === 'done') ? 'walk.verdict' : 'walk.onward')}
              </Go>
            )}
          </>
        )
      }
    >
      <div className="leg-head">
        <h1>
          <span className="num">{leg.n}</span>
          <span className="leg-of">/{legs.length}</span> {name}
        </h1>
        {boat.findings.length > 0 && rest.length > 0 ? (
          <p className="keep-going">
            {say('walk.keepGoing', { n: legs.filter((l) => l.n !== leg.n && legState(boat, l) === 'open').length })}
          </p>
        ) : null}
      </div>
      {hidden ? (
        // There is nothing to look at: what to ask and what to mind come before the drawing, so that they are read without a scroll.
        <>
          {stops}
          {mind}
          {drawing}
        </>
      ) : (
        <>
          {drawing}
          {mind}
          {stops}
        </>
      )}
      {found.map((f) => (
        <FindingCard key={boat.findings.indexOf(f)} boat={boat} index={boat.findings.indexOf(f)} places={walk.places} />
      ))}
    </Frame>
  );
}

const taskWords: Record<string, Key> = {
  look: 'task.look',
  feel: 'task.feel',
  open: 'task.open',
  drain: 'task.drain',
  lower: 'task.lower',
  run: 'task.run',
  tip: 'task.tip',
  ask: 'task.ask',
};

function StopRow({ stop, boat, onOpen }: { stop: RoundStop; boat: Boat; onOpen: () => void }) {
  const say = useSay();
  const check = boat.checks.get(stop.place);
  const isDone = settled(boat, stop.place);
  const found = boat.findings.some((f) => f.place === stop.place);
  const state = found
    ? say('walk.state.found')
    : check?.reason
      ? say('walk.state.unchecked')
      : isDone
        ? say(`wet.${wetWord(check?.wet)}`)
        : '';
  return (
    <li>
      <button type="button" className="row" onClick={onOpen}>
        <span className={`row-n ${isDone ? 'done' : ''}`}>{stop.number}</span>
        <span>
          <span className="row-name">{stop.name}</span>
          <span className="row-say">{stop.say}</span>
          {state ? <span className="row-state">{state}</span> : null}
        </span>
        <span className="row-marks">
          {stop.tasks
            .filter((t) => t === 'feel' || t === 'open' || t === 'drain' || t === 'lower')
            .map((t) => (
              <span key={t} className="row-mark">
                <Icon name={t as 'feel' | 'open' | 'drain' | 'lower'} size={26} />
                <span className="row-task">{say(taskWords[t] ?? 'task.look')}</span>
              </span>
            ))}
        </span>
      </button>
    </li>
  );
}

export function wetWord(wet: string | undefined): 'dry' | 'damp' | 'film' | 'water' | 'unknown' {
  return wet === 'dry' || wet === 'damp' || wet === 'film' || wet === 'water' ? wet : 'unknown';
}

function RigOf({ boat, walk, legs, leg, lengthM, beamM, profile }: Shown) {
  const say = useSay();
  const name = useLegName()(leg);
  return (
    <Rig
      profile={profile}
      lengthM={lengthM}
      beamM={beamM}
      trailered={walk.places.some((p) => p.zone === 'trailer')}
      places={walk.places}
      round={walk.round}
      legs={legs}
      state={(l) => (l.n === leg.n ? 'here' : legState(boat, l))}
      marked={new Set(leg.stops.map((s) => s.place))}
      found={new Set(boat.findings.map((f) => f.place))}
      label={say('walk.drawing', { n: leg.n, of: legs.length, name })}
    />
  );
}

/** All legs at once: to go to one out of turn, to walk the other way round, to see what is left. */
function WalkMap({
  onPick,
  onBack,
  onOutfit,
  ...shown
}: Shown & { onPick: (n: number) => void; onBack: () => void; onOutfit: () => void }) {
  const say = useSay();
  const legName = useLegName();
  const { act } = useRamp();
  const { boat, walk, legs } = shown;
  const untouched = boat.checks.size === 0;
  return (
    <Frame
      leave={onBack}
      at="map"
      acts={
        <>
          <Tiles>
            <Tile icon="clock" onClick={() => go('boat', boat.id, 'short')}>
              {say('boat.short')}
            </Tile>
            <Tile icon="refuse" onClick={() => go('boat', boat.id, 'refuse')}>
              {say('boat.refuses')}
            </Tile>
          </Tiles>
          <Go onClick={onBack}>{say('walk.back')}</Go>
        </>
      }
    >
      <h1>{say('walk.map')}</h1>
      <RigOf {...shown} />
      <ol className="rows">
        {legs.map((l) => {
          const left = l.stops.filter((s) => !settled(boat, s.place)).length;
          return (
            <li key={l.n}>
              <button type="button" className="row" onClick={() => onPick(l.n)}>
                <span className={`row-n ${left === 0 ? 'done' : ''}`}>{l.n}</span>
                <span>
                  <span className="row-name">
                    {l.side === 'hidden' ? nameOf(walk.places, l.stops[0]?.place) : legName(l)}
                  </span>
                  <span className="row-say">
                    {left === 0
                      ? say('walk.legDone', { n: l.stops.length })
                      : say('walk.legLeft', { left, n: l.stops.length })}
                  </span>
                </span>
              </button>
            </li>
          );
        })}
      </ol>
      <Outlets boat={boat} outlets={outletsOf(walk.places)} />
      <Link icon="list" onClick={onOutfit}>
        {say('walk.outfit')}
      </Link>
      <Link icon="turn" onClick={() => act(boat.id, { do: 'turn' })}>
        {say(untouched ? 'walk.turn' : 'walk.turnRest')}
      </Link>
    </Frame>
  );
}
