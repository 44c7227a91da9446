import { type Key, useSay } from '../messages/index.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, boatOf, noCraft } from './boat.ts';
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
    const at = Date.now();
    const craft = boat.setup ? [] : [{ do: 'craft', setup: noCraft, at } as const];
    const refusal = { do: 'refused', why, note: say('note.refused', { why }), at } as const;
    const draft = {
      id: boat.id,
      kind: 'boat',
      startedAt: boat.startedAt,
      acts: [...boat.acts, ...craft, refusal],
    } as const;
    if (!(await ramp.save(draft))) return;
    const refused = boatOf(draft); // with the refusal among its acts, which are what stays of it
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
