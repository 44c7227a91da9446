import { useState } from 'react';
import type { Matter, Place, RoundStop, Task, Wetness } from '../engine/types.ts';
import { type Key, useSay } from '../messages/index.tsx';
import { type IconName, isIcon } from '../parts/Icon.tsx';
import { Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { Closeup } from './Closeup.tsx';
import type { Note } from './drill.ts';

const matters = ['attached_animal', 'plant', 'loose_animal', 'mud', 'water', 'egg', 'unknown'] as const;
const wets = ['dry', 'damp', 'film', 'water'] as const;

export const matterKey = (m: Matter): Key => (m === 'unknown' || m === '' ? 'drill.unsure' : (`matter.${m}` as Key));

/** What one place asks for and what was done there. */
export interface At {
  place: Place;
  stop: RoundStop;
  note: Note;
  onAct: (task: Task) => void;
  onAnswer: (wet: Wetness, found?: Matter) => void;
  onReopen: () => void;
}

/** The acts that a place allows. */
export function Acts({ place, note, onAct }: Pick<At, 'place' | 'note' | 'onAct'>) {
  const say = useSay();
  return (
    <Tiles label={say('drill.acts')} across={3}>
      {place.tasks.map((t) => (
        <Tile
          key={t}
          pressed={note.acts.includes(t)}
          {...(isIcon(t) ? { icon: t as IconName } : {})}
          onClick={() => onAct(t)}
        >
          {say(`drill.do.${t}` as Key)}
        </Tile>
      ))}
    </Tiles>
  );
}

type Asking = 'what' | 'wet' | { found: Matter };

/** What the trainee says of a place, once something was done there. */
export function Answers({ place, note, onAnswer }: Pick<At, 'place' | 'note' | 'onAnswer'>) {
  const say = useSay();
  const [asking, setAsking] = useState<Asking>();
  if (note.acts.length === 0) return null;
  if (place.hidden) return <Tile onClick={() => onAnswer('unknown')}>{say('drill.hidden')}</Tile>;
  if (asking === 'what') {
    return (
      <Tiles label={say('drill.what')}>
        {matters.map((m) => (
          <Tile
            key={m}
            {...(isIcon(iconOf(m)) ? { icon: iconOf(m) as IconName } : {})}
            onClick={() => (m === 'water' ? onAnswer('water', m) : setAsking({ found: m }))}
          >
            {say(matterKey(m))}
          </Tile>
        ))}
      </Tiles>
    );
  }
  if (asking) {
    const found = asking === 'wet' ? undefined : asking.found;
    return (
      <Tiles label={say(found ? 'drill.how' : 'wet.how')}>
        {wets
          .filter((w) => found || w !== 'dry')
          .map((w) => (
            <Tile key={w} onClick={() => onAnswer(w, found)}>
              {say(`wet.${w}`)}
            </Tile>
          ))}
      </Tiles>
    );
  }
  return (
    <>
      <Tile onClick={() => onAnswer('dry')}>{say('drill.clear')}</Tile>
      <Tiles>
        <Tile icon="damp" onClick={() => setAsking('wet')}>
          {say('drill.wet')}
        </Tile>
        <Tile icon="other" onClick={() => setAsking('what')}>
          {say('drill.found')}
        </Tile>
      </Tiles>
    </>
  );
}

/** The matter's picture. */
const iconOf = (m: (typeof matters)[number]) => (m === 'unknown' ? 'other' : m);

/** What the acts have shown, in sentences; felt and wet at once, what the eye sees only where words were asked for. */
export function Shown({ note, place, words }: { note: Note; place: Place; words: boolean }) {
  const said = note.sight?.says ?? [];
  const eye = new Set((note.sight?.signs ?? []).flatMap((s) => (s.seen ? [`You see ${s.seen}.`] : [])));
  const lines = words || place.hidden ? said : said.filter((line) => !eye.has(line));
  return (
    <div role="status" className="shown">
      {lines.map((line, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: two equal sentences are two signs
        <p key={i}>{line}</p>
      ))}
    </div>
  );
}

/** What was said of a place. */
export function useSaid(): (note: Note) => string {
  const say = useSay();
  return (note) => {
    if (!note.answered) return '';
    if (note.found) return say('drill.said.found', { what: say(matterKey(note.found)) });
    if (note.wet === 'unknown') return say('drill.said.hidden');
    return `${say('drill.said.clear')}, ${say(`wet.${note.wet ?? 'dry'}` as Key).toLowerCase()}`;
  };
}

/** A place drawn close up, with its words on request: asking for them takes time, as a longer look does. */
export function Drawn({ at }: { at: At }) {
  const say = useSay();
  const [words, setWords] = useState(false);
  const signs = at.note.sight?.signs.some((s) => s.seen) ?? false;
  return (
    <>
      <Closeup name={at.place.name} sight={at.note.sight} done={at.note.acts.length > 0} />
      <Shown note={at.note} place={at.place} words={words} />
      {at.note.acts.length > 0 && signs && !words ? (
        <Link icon="list" onClick={() => setWords(true)}>
          {say('drill.words')}
        </Link>
      ) : null}
    </>
  );
}

/** A place in words alone, with all its buttons: one item of the list. */
export function Listed({ at, n, all }: { at: At; n: number; all: number }) {
  const say = useSay();
  const said = useSaid();
  return (
    <section className="listed" aria-labelledby={`at-${at.place.id}`}>
      <h2 id={`at-${at.place.id}`} tabIndex={-1}>
        <span className="leg-of">{say('drill.place', { n, all })}</span> {at.place.name}
      </h2>
      <Hints at={at} />
      <Shown note={at.note} place={at.place} words />
      {at.note.answered ? (
        <>
          <p className="keep-going">{said(at.note)}</p>
          <Link icon="undo" onClick={at.onReopen}>
            {say('drill.change')}
          </Link>
        </>
      ) : (
        <>
          <Acts place={at.place} note={at.note} onAct={at.onAct} />
          <Answers place={at.place} note={at.note} onAnswer={at.onAnswer} />
        </>
      )}
    </section>
  );
}

/** What the hand should mind before it reaches in. */
export function Hints({ at }: { at: At }) {
  return at.stop.cautions?.length ? (
    <div className="caution at-hand">
      {at.stop.cautions.map((c) => (
        <p key={c}>{c}</p>
      ))}
    </div>
  ) : null;
}
