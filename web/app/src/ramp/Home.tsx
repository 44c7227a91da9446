import { useSay } from '../messages/index.tsx';
import type { IconName } from '../parts/Icon.tsx';
import { Silhouette } from '../parts/Silhouette.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { Hull } from '../shared/Hull.tsx';
import { type BoatDraft, boatOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { go, type Where } from './route.ts';
import { useRamp } from './state.tsx';
import { heated, stepsOf, type WashDraft } from './washing.ts';

/** Where everything starts: the boats that are open, the next one, and the few other things of a shift. */
export function Home() {
  const say = useSay();
  const { shift, boats, washes, dones, launch } = useRamp();
  if (!shift) return <NoShift />;
  const open = boats.length + washes.length;
  return (
    <Frame
      acts={
        <>
          <Tiles>
            <Tile icon="code" onClick={() => go('verify')}>
              {say('home.verify')}
            </Tile>
            <Tile icon="tally" onClick={() => go('tally')}>
              {say('home.tally')}
            </Tile>
          </Tiles>
          <Go onClick={() => go('craft')} sub={say('home.nextSub')}>
            {say('home.next')}
          </Go>
        </>
      }
    >
      <h1>{launch?.body.name ?? say('home.title')}</h1>
      {open > 0 ? (
        <section aria-labelledby="open-boats">
          <h2 id="open-boats">{say('home.open', { n: open })}</h2>
          <ul className="rows">
            {boats.map((b) => (
              <li key={b.id}>
                <BoatRow draft={b} />
              </li>
            ))}
            {washes.map((w) => (
              <li key={w.id}>
                <WashRow draft={w} />
              </li>
            ))}
          </ul>
        </section>
      ) : (
        <p>{say('home.none')}</p>
      )}
      <div>
        <Ways
          list={[
            ['list', 'boats', say('home.done', { n: dones.length })],
            ['spray', 'order', say('home.wash')],
            ['paper', 'keyin', say('home.paper')],
            ['clock', 'close', say('home.close')],
            ['look', 'practice', say('home.practice')],
            ['settings', 'settings', say('home.settings')],
          ]}
        />
      </div>
    </Frame>
  );
}

/** Ways to the other screens. */
function Ways({ list }: { list: readonly (readonly [icon: IconName, where: Where, word: string])[] }) {
  return list.map(([icon, where, word]) => (
    <Link key={where} icon={icon} onClick={() => go(where)}>
      {word}
    </Link>
  ));
}

function NoShift() {
  const say = useSay();
  const { status, books, people, me } = useRamp();
  const person = people.find((p) => p.subject === me)?.body.name;
  return (
    <Frame
      acts={
        <Go onClick={() => go('shift')} disabled={books.launches.length === 0}>
          {say('home.startShift')}
        </Go>
      }
    >
      <h1>
        <Hull state="open" /> {say('home.hello', { name: person ?? status.enrolment?.name ?? '' })}
      </h1>
      <p>{say('home.noShift')}</p>
      {books.launches.length === 0 ? <p className="trouble">{say('home.noLaunches')}</p> : null}
      <div>
        <Ways
          list={[
            ['list', 'state', say('home.state')],
            ['look', 'practice', say('home.practice')],
            ['settings', 'settings', say('home.settings')],
          ]}
        />
      </div>
    </Frame>
  );
}

function BoatRow({ draft }: { draft: BoatDraft }) {
  const say = useSay();
  const { library } = useRamp();
  const names = useNames();
  const b = boatOf(draft);
  const craft = library?.classes.find((c) => c.id === b.setup?.class);
  const water = names.water(b.visits[0]?.water);
  const stage = b.sealed ? 'done' : b.checks.size > 0 ? 'walking' : b.asking ? 'asking' : 'draining';
  return (
    <Tile
      onClick={() => go('boat', draft.id)}
      sub={say(`home.stage.${stage}`, { since: sinceMinutes(draft.startedAt), n: b.checks.size })}
    >
      <Silhouette craft={b.setup?.class ?? 'other'} lengthM={b.setup?.lengthM || craft?.lengthM || 6} />
      <span className="hidden-words">{say('home.goOn')} </span>
      {[craft?.name ?? say('home.newBoat'), water].filter(Boolean).join(' · ')}
    </Tile>
  );
}

function WashRow({ draft }: { draft: WashDraft }) {
  const say = useSay();
  const names = useNames();
  const steps = stepsOf(draft);
  const left = steps.filter((s) => !s.outcome).length;
  return (
    <Tile
      icon="spray"
      onClick={() => go('wash', draft.id)}
      sub={say('home.washLeft', { n: left, heated: steps.filter((s) => heated(s.step)).length })}
    >
      {names.craft(draft.order.craft)}
    </Tile>
  );
}

function sinceMinutes(at: string): number {
  return Math.max(0, Math.round((Date.now() - Date.parse(at)) / 60000));
}
