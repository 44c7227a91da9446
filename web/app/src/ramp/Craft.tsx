import { useState } from 'react';
import type { Mark, Setup, SpaceKind } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Field } from '../parts/Field.tsx';
import { Silhouette } from '../parts/Silhouette.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { FIRST_KINDS, kindsInOrder } from '../shared/kinds.ts';
import type { Boat, Direction } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useMarking } from './marking.ts';
import { go } from './route.ts';
import { useRamp } from './state.tsx';

/** What came in: a picture to tap. One tap starts the record. A boat whose picture was taken back gets the new one. */
export function CraftPick({ boat }: { boat?: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const kinds = kindsInOrder(ramp.library?.classes ?? []);
  const [all, setAll] = useState(false);
  const [direction, setDirection] = useState<Direction>('launching');
  const [number, setNumber] = useState(false);
  const [mark, setMark] = useState<Mark>();
  // One that is on record already is never dropped: taking it up again is what the undo takes back.
  const begun = boat?.correcting ? undefined : boat;
  const shown = all ? kinds : kinds.slice(0, FIRST_KINDS);

  const start = async (setup: Setup, more?: MarkAct) => {
    const craft = { do: 'craft', setup, known: more !== undefined && more.mark !== mark } as const;
    const id = boat ? (await ramp.act(boat.id, craft)) && boat.id : await ramp.begin(craft);
    if (!id) return;
    if (more) await ramp.act(id, more);
    if (direction !== 'launching') await ramp.act(id, { do: 'direction', direction });
    go('boat', id);
  };
  if (number) {
    return (
      <ByNumber
        onFound={start}
        onBack={(m) => {
          setMark(m);
          setNumber(false);
        }}
      />
    );
  }
  return (
    <Frame
      at={all ? 'all' : 'first'}
      undo={boat?.id}
      leave={all ? () => setAll(false) : begun && (async () => (await ramp.drop(begun.id)) && go('craft'))}
      acts={
        <Tiles>
          <Tile
            icon="turn"
            pressed={direction === 'leaving'}
            onClick={() => setDirection(direction === 'leaving' ? 'launching' : 'leaving')}
          >
            {say('craft.leaving')}
          </Tile>
          <Tile
            icon="refuse"
            onClick={async () => {
              const id = boat?.id ?? (await ramp.begin());
              if (id) go('boat', id, 'refuse');
            }}
          >
            {say('craft.refuses')}
          </Tile>
        </Tiles>
      }
    >
      <h1>{say('craft.what')}</h1>
      <div className="craft">
        <Tiles>
          {shown.map((c) => (
            <Tile key={c.id} onClick={() => start(c.usual, mark && { do: 'mark', mark })}>
              <Silhouette craft={c.id} lengthM={c.lengthM} />
              {c.name}
            </Tile>
          ))}
        </Tiles>
      </div>
      {all ? null : (
        <Link icon="list" onClick={() => setAll(true)}>
          {say('craft.more', { n: kinds.length - FIRST_KINDS })}
        </Link>
      )}
      <Link icon="boats" onClick={() => setNumber(true)}>
        {say('craft.byNumber')}
      </Link>
    </Frame>
  );
}

type MarkAct = { do: 'mark'; mark: Mark };

/** A craft that has been here before is known by the hash of its number; the number itself is kept nowhere. */
function ByNumber({
  onFound,
  onBack,
}: {
  onFound: (setup: Setup, more: MarkAct) => void;
  onBack: (mark?: Mark) => void;
}) {
  const say = useSay();
  const [text, setText] = useState('');
  const [told, setTold] = useState('');
  const [fresh, setNew] = useState<Mark>();
  const marking = useMarking();
  const look = async () => {
    const known = await marking(text);
    if (!known.mark) return setTold(say(known.noKey ? 'craft.noKey' : 'craft.noNumber'));
    if (known.setup) return onFound(known.setup, { do: 'mark', mark: known.mark });
    setNew(known.mark);
    setTold(say('craft.notMet'));
  };
  return (
    <Frame
      at="number"
      acts={
        <>
          <Tile onClick={() => onBack(fresh)}>{say('craft.pick')}</Tile>
          <Go onClick={look} disabled={!text.trim()}>
            {say('craft.find')}
          </Go>
        </>
      }
    >
      <h1>{say('craft.byNumber')}</h1>
      <p>{say('craft.numberWhy')}</p>
      <Field id="registration" label={say('craft.number')}>
        <input
          id="registration"
          value={text}
          autoComplete="off"
          autoCapitalize="characters"
          spellCheck={false}
          onChange={(e) => setText(e.target.value)}
        />
      </Field>
      <p role="status">{told}</p>
    </Frame>
  );
}

/** What the craft has: every part adds places to look at, so what nobody knows stays in. */
export function Outfit({ boat, onDone }: { boat: Boat; onDone: () => void }) {
  const say = useSay();
  const { library, act } = useRamp();
  const setup = boat.setup;
  if (!setup || !library) return null;
  const change = (c: Partial<Setup>) => act(boat.id, { do: 'setup', setup: { ...setup, ...c } });
  const count = (kind: SpaceKind) => setup.spaces.find((s) => s.kind === kind)?.count ?? 0;
  const setCount = (kind: SpaceKind, n: number | 'unknown') => {
    const rest = setup.spaces.filter((s) => s.kind !== kind);
    const old = setup.spaces.find((s) => s.kind === kind);
    return change({ spaces: n === 0 ? rest : [...rest, { ...(old ?? { kind }), count: n }] });
  };
  return (
    <Frame
      at="outfit"
      undo={boat.id}
      leave={boat.acts.at(-1)?.do === 'setup' ? undefined : onDone}
      acts={<Go onClick={onDone}>{say('outfit.done')}</Go>}
    >
      <h1>{say('outfit.title')}</h1>
      <p>{say('outfit.why')}</p>
      <h2>{say('outfit.drive')}</h2>
      <Tiles>
        {library.drives.map((d) => (
          <Tile
            key={d.id}
            pressed={setup.drives.includes(d.id)}
            onClick={() => {
              const left = setup.drives.filter((x) => x !== d.id && x !== '' && x !== 'unknown');
              const drives = setup.drives.includes(d.id) ? left : [...left, d.id];
              return change({ drives: drives.length ? drives : [''] });
            }}
          >
            {d.name}
          </Tile>
        ))}
      </Tiles>
      <h2>{say('outfit.spaces')}</h2>
      <ul className="rows">
        {library.spaces.map((s) => {
          const n = count(s.id);
          return (
            <li key={s.id} className="stepper">
              <span className="row-name" id={`space-${s.id}`}>
                {s.name}
              </span>
              <Stepper label={s.name} value={n} onChange={(v) => setCount(s.id, v)} />
            </li>
          );
        })}
      </ul>
      <h2>{say('outfit.gear')}</h2>
      <Tiles>
        {library.gear.map((g) => (
          <Tile
            key={g.id}
            pressed={setup.gear.includes(g.id)}
            onClick={() =>
              change({ gear: setup.gear.includes(g.id) ? setup.gear.filter((x) => x !== g.id) : [...setup.gear, g.id] })
            }
          >
            {g.name}
          </Tile>
        ))}
      </Tiles>
      <h2>{say('outfit.trailer')}</h2>
      <Tiles>
        {(['bunk', 'roller', 'cradle', 'none', 'unknown'] as const).map((t) => (
          <Tile key={t} pressed={(setup.trailer || 'unknown') === t} onClick={() => change({ trailer: t })}>
            {say(`trailer.${t}`)}
          </Tile>
        ))}
      </Tiles>
    </Frame>
  );
}

function Stepper({
  label,
  value,
  onChange,
}: {
  label: string;
  value: number | 'unknown';
  onChange: (n: number | 'unknown') => void;
}) {
  const say = useSay();
  const n = value === 'unknown' ? 0 : value;
  return (
    <span className="stepper-acts">
      <button
        type="button"
        data-quick
        className="tile"
        aria-label={say('outfit.fewer', { what: label })}
        onClick={() => onChange(Math.max(0, n - 1))}
      >
        −
      </button>
      <output className="num">{value === 'unknown' ? '?' : n}</output>
      <button
        type="button"
        data-quick
        className="tile"
        aria-label={say('outfit.more', { what: label })}
        onClick={() => onChange(Math.min(20, n + 1))}
      >
        +
      </button>
      <button
        type="button"
        className="tile"
        aria-pressed={value === 'unknown'}
        aria-label={say('outfit.notSure', { what: label })}
        onClick={() => onChange('unknown')}
      >
        ?
      </button>
    </span>
  );
}
