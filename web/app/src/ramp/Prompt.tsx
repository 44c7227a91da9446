import type { RoundOut } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, type Outlet, outletsOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { useRamp } from './state.tsx';

/** Before the walk: what the owner is asked to start, because water needs time to run. The answers are ticked when seen. */
export function Prompt({ boat, walk, onOutfit }: { boat: Boat; walk: RoundOut; onOutfit: () => void }) {
  const say = useSay();
  const { act } = useRamp();
  const outlets = outletsOf(walk.places);
  return (
    <Frame
      undo={boat.id}
      at="prompt"
      acts={
        <>
          <Tiles>
            <Tile icon="refuse" onClick={() => go('boat', boat.id, 'refuse')}>
              {say('boat.refuses')}
            </Tile>
            <Tile icon="clock" onClick={() => go('boat', boat.id, 'short')}>
              {say('boat.short')}
            </Tile>
          </Tiles>
          <Go
            onClick={() => act(boat.id, { do: 'started' })}
            sub={say('prompt.goSub', {
              n: walk.round.stops.length,
              left: outlets.filter((o) => boat.outlets[o] !== 'yes').length,
            })}
          >
            {say('prompt.go')}
          </Go>
        </>
      }
    >
      <h1>{say(walk.round.first.length ? 'prompt.title' : 'prompt.plain')}</h1>
      <div className="caution at-hand">
        {walk.round.before.map((c) => (
          <p key={c}>{c}</p>
        ))}
      </div>
      {walk.round.first.length ? (
        <ol className="rows big-rows">
          {walk.round.first.map((f) => (
            <li key={f.say}>{f.say}</li>
          ))}
        </ol>
      ) : null}
      {outlets.length ? <Outlets boat={boat} outlets={outlets} /> : null}
      <Link icon="list" onClick={onOutfit}>
        {say('prompt.outfit')}
      </Link>
    </Frame>
  );
}

/** Plugs out, drive down, strainer out: seen or not. Unanswered is not seen. */
export function Outlets({ boat, outlets }: { boat: Boat; outlets: readonly Outlet[] }) {
  const say = useSay();
  const { act } = useRamp();
  return (
    <section className="box" aria-label={say('prompt.seen')}>
      <h2>{say('prompt.seen')}</h2>
      <Tiles across={1}>
        {outlets.map((o) => {
          const seen = boat.outlets[o] === 'yes';
          return (
            <Tile
              key={o}
              icon={o === 'driveLowered' ? 'lower' : o === 'plugsOut' ? 'drain' : 'open'}
              pressed={seen}
              onClick={() => act(boat.id, { do: 'outlet', outlet: o, answer: seen ? '' : 'yes' })}
              sub={say(seen ? 'outlet.seen' : 'outlet.notSeen')}
            >
              {say(`outlet.${o}`)}
            </Tile>
          );
        })}
      </Tiles>
    </section>
  );
}
