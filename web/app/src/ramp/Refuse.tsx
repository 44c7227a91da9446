import { type Key, useSay } from '../messages/index.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, noCraft } from './boat.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { sealBoat } from './sealing.ts';
import { call, useAnswer, useRamp } from './state.tsx';

const reasons: readonly Key[] = [
  'refuse.time',
  'refuse.distrust',
  'refuse.cost',
  'refuse.privacy',
  'refuse.checked',
  'refuse.none',
];

/** A refusal: a calm line to say, one tap for the reason, nothing of the person. It is never a pass. */
export function Refuse({ boat }: { boat: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const safety = useAnswer(() => call('cautions', { triggers: ['refusal'] }), []).value;
  const whom = ramp.books.programme?.contacts?.find((c) => c.role === 'agency');
  const pick = async (why: string) => {
    const refusal = { do: 'refused', why, note: say('note.refused', { why }) } as const;
    const known = boat.setup !== undefined || (await ramp.act(boat.id, { do: 'craft', setup: noCraft }));
    if (!known || !(await ramp.act(boat.id, refusal))) return;
    const setup = boat.setup ?? noCraft;
    const refused: Boat = { ...boat, setup, refused: why, said: { ...boat.said, refused: refusal.note } };
    const judged = await call('verdict', await ramp.caseFor(refused)).catch(() => undefined);
    if (await sealBoat(ramp, refused, judged?.verdict)) go('boat', boat.id);
  };
  return (
    <Frame
      leave={async () => {
        if (boat.acts.length > 0) go('boat', boat.id);
        else if (await ramp.drop(boat.id)) go('craft');
      }}
      at="refuse"
      acts={
        <Tiles>
          {reasons.map((r) => (
            <Tile key={r} onClick={() => pick(say(r))}>
              {say(r)}
            </Tile>
          ))}
        </Tiles>
      }
    >
      <h1>{say('refuse.title')}</h1>
      <blockquote className="script">{say('refuse.script')}</blockquote>
      <div className="caution">
        {(safety?.cautions ?? []).map((c) => (
          <p key={c.id}>{c.text}</p>
        ))}
      </div>
      {whom ? <p>{say('refuse.notify', { role: whom.role, words: whom.words ?? '' })}</p> : null}
      <p>{say('refuse.why')}</p>
    </Frame>
  );
}
