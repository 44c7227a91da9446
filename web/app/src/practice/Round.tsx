import { useState } from 'react';
import { practiceEngine } from '../engine/index.ts';
import type { Answer, Task } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { CraftPicture, useDrawing, type View, Views } from './CraftPicture.tsx';
import { act, answer, answered, arrive, type Doing, nextOpen, noteOf, reopen, step } from './drill.ts';
import { Acts, Answers, type At, Drawn, Hints, Listed, useSaid } from './PlaceWork.tsx';
import type { Surface } from './surface.ts';

export type Form = 'drawn' | 'list';

interface RoundProps {
  surface: Surface;
  doing: Doing;
  /** Changes what is done from what it is by then: two quick acts do not undo each other. */
  change: (step: (d: Doing) => Doing) => void;
  form: Form;
  onForm: (f: Form) => void;
  onEnd: () => void;
}

/** The round: one place at a time beside its drawing, or all places as a list. */
export function Round(p: RoundProps) {
  const say = useSay();
  const { Frame } = p.surface;
  const stops = p.doing.round.round.stops;
  const left = stops.length - answered(p.doing);
  const end = (
    <Go onClick={p.onEnd} sub={say('drill.endSub', { n: left })}>
      {say('drill.end')}
    </Go>
  );
  if (p.form === 'list') {
    return (
      <Frame at="list" acts={end}>
        <h1>{say('drill.of', { n: stops.length - left, all: stops.length })}</h1>
        <Link icon="route" onClick={() => p.onForm('drawn')}>
          {say('drill.asDrawn')}
        </Link>
        <Outlets {...p} />
        {stops.map((s, i) => {
          const at = atOf(p, s.place, false);
          return at ? <Listed key={s.place} at={at} n={i + 1} all={stops.length} /> : null;
        })}
      </Frame>
    );
  }
  return <OnePlace {...p} end={end} />;
}

/** Everything one place needs. Where `onward`, an answer goes on to the next open place. */
function atOf(p: RoundProps, place: string, onward: boolean): At | undefined {
  const spot = p.doing.round.places.find((q) => q.id === place);
  const stop = p.doing.round.round.stops.find((s) => s.place === place);
  if (!spot || !stop) return undefined;
  const note = noteOf(p.doing, place);
  const onAct = async (task: Task) => {
    const acts = note.acts.includes(task) ? [...note.acts] : [...note.acts, task];
    const sight = await practiceEngine.call('drill.look', { drill: p.doing.drill, place, acts });
    p.change((d) => act(d, place, task, sight, Date.now()));
  };
  return {
    place: spot,
    stop,
    note,
    onAct,
    onAnswer: (wet, found) =>
      p.change((d) => {
        const said = answer(d, place, wet, found, Date.now());
        const next = onward ? nextOpen(said) : undefined;
        return next ? arrive(said, next, Date.now()) : said;
      }),
    onReopen: () => p.change((d) => reopen(d, place)),
  };
}

function OnePlace(p: RoundProps & { end: React.ReactNode }) {
  const say = useSay();
  const said = useSaid();
  const { Frame } = p.surface;
  const { doing } = p;
  const [chosen, setView] = useState<View>('plan');
  const stops = doing.round.round.stops;
  const done = stops.filter((s) => noteOf(doing, s.place).answered).map((s) => s.place);
  const found = stops.filter((s) => noteOf(doing, s.place).found).map((s) => s.place);
  const drawn = useDrawing({
    setup: doing.drill.order.setup,
    round: doing.round,
    view: chosen,
    done,
    found,
    now: doing.here,
  });
  const at = atOf(p, doing.here, true);
  const n = stops.findIndex((s) => s.place === doing.here) + 1;
  const to = (place: string) => p.change((d) => arrive(d, place, Date.now()));
  if (!at) return null;
  const all = done.length === stops.length;
  const acts = at.note.answered ? (
    <>
      <Link icon="undo" onClick={at.onReopen}>
        {say('drill.change')}
      </Link>
      {all ? p.end : null}
    </>
  ) : (
    <>
      <Acts place={at.place} note={at.note} onAct={at.onAct} />
      <Answers key={doing.here} place={at.place} note={at.note} onAnswer={at.onAnswer} />
    </>
  );
  return (
    <Frame at={doing.here} acts={p.surface.actsBeside ? undefined : acts}>
      <div className="drawn-round">
        <div>
          <CraftPicture drawn={drawn} onPlace={to} />
          <Views view={chosen} onView={setView} />
        </div>
        <div>
          <div className="leg-head">
            <span className="leg-of">
              {say('drill.place', { n, all: stops.length })} · {say('drill.answered', { n: done.length })}
            </span>
            <h1>{at.place.name}</h1>
          </div>
          <Hints at={at} />
          <Drawn key={doing.here} at={at} />
          {at.note.answered ? <p className="keep-going">{said(at.note)}</p> : null}
          {p.surface.actsBeside ? acts : null}
        </div>
      </div>
      <Tiles>
        <Tile icon="undo" onClick={() => to(step(doing, -1))}>
          {say('drill.back')}
        </Tile>
        <Tile icon="route" onClick={() => to(step(doing, 1))}>
          {say('drill.next')}
        </Tile>
      </Tiles>
      <Outlets {...p} />
      <p className="quiet">{say('drill.tap')}</p>
      <Link icon="list" onClick={() => p.onForm('list')}>
        {say('drill.asList')}
      </Link>
      {all ? null : p.end}
    </Frame>
  );
}

/** Plugs and drive, looked at and noted: the record of a craft asks for both. */
function Outlets({ doing, change }: Pick<RoundProps, 'doing' | 'change'>) {
  const say = useSay();
  const [seen, setSeen] = useState<{ plugsOut: Answer; driveLowered: Answer }>();
  const has = (t: Task) => doing.round.places.some((q) => q.tasks.includes(t));
  if (!has('drain') && !has('lower')) return null;
  const ask = (what: 'plugsOut' | 'driveLowered', key: 'drill.plugs' | 'drill.drive') => (
    <Tiles label={say(key)}>
      {(['yes', 'no'] as const).map((a) => (
        <Tile key={a} pressed={doing[what] === a} onClick={() => change((d) => ({ ...d, [what]: a }))}>
          {say(`drill.${a}`)}
        </Tile>
      ))}
    </Tiles>
  );
  return (
    <section className="box" aria-labelledby="outlets">
      <h2 id="outlets">{say('drill.outlets')}</h2>
      {seen ? (
        <div role="status">
          {has('drain') ? <p>{say('drill.plugsSeen', { answer: seen.plugsOut })}</p> : null}
          {has('lower') ? <p>{say('drill.driveSeen', { answer: seen.driveLowered })}</p> : null}
        </div>
      ) : (
        <Link
          icon="look"
          onClick={async () => setSeen(await practiceEngine.call('drill.owner', { drill: doing.drill }))}
        >
          {say('drill.outletsLook')}
        </Link>
      )}
      {seen && has('drain') ? (
        <>
          <p>{say('drill.plugs')}</p>
          {ask('plugsOut', 'drill.plugs')}
        </>
      ) : null}
      {seen && has('lower') ? (
        <>
          <p>{say('drill.drive')}</p>
          {ask('driveLowered', 'drill.drive')}
        </>
      ) : null}
    </section>
  );
}
