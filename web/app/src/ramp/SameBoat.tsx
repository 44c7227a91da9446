import type { Encounter, TwinPair } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Go, Tile } from '../parts/Tiles.tsx';
import { clockTime } from '../shared/units.ts';
import { type Boat, inspectionOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { back } from './route.ts';
import { call, isoLocal, useAnswer, useRamp } from './state.tsx';

/** How far back a craft met before can still be the same one: the engine looks closer than that. */
const LOOK_BACK_MS = 3600_000;

/** Looks of the last hour that may be this very craft. They are proposals; nothing is joined by itself. */
export function useTwins(boat: Boat): readonly TwinPair[] {
  const ramp = useRamp();
  const n = local.records('inspection').length;
  return (
    useAnswer(async () => {
      const since = Date.parse(boat.startedAt) - LOOK_BACK_MS;
      const before = local
        .records<Encounter>('inspection')
        .filter(
          (r) =>
            r.entry.subject !== boat.id &&
            r.entry.subject !== boat.correcting?.subject &&
            Date.parse(r.entry.body.inspection.startedAt) > since,
        );
      if (before.length === 0) return [];
      const now: Encounter = {
        shift: ramp.shift?.entry ?? '',
        inspection: inspectionOf(boat, ramp.site()),
        protocol: ramp.rule.ref,
        ...(boat.mark ? { mark: boat.mark } : {}),
      };
      const { pairs } = await call('twins', {
        looks: [
          ...before.map((r) => ({
            subject: r.entry.subject,
            at: r.entry.body.inspection.startedAt,
            encounter: r.entry.body,
          })),
          { subject: boat.id, at: boat.startedAt, encounter: now },
        ],
      });
      return pairs.filter((p) => p.a === boat.id || p.b === boat.id);
    }, [boat.id, boat.visits, n]).value ?? []
  );
}

/** Two looks that may be one craft: side by side, and a person's word on it. Both records stay. */
export function SameBoat({ boat }: { boat: Boat }) {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const ramp = useRamp();
  const names = useNames();
  const pairs = useTwins(boat);
  const words = (signs: readonly string[]) => signs.map((x) => say(`same.sign.${x as 'time'}`)).join(', ') || '–';
  const decide = async (other: string, decision: 'same' | 'different') => {
    const body = { a: other, b: boat.id, decision };
    if (await ramp.saving(() => local.seal('pairing', body))) back();
  };
  return (
    <Frame at="same" acts={<Go onClick={back}>{say('same.later')}</Go>}>
      <h1>{say('same.title')}</h1>
      <p>{say('same.why')}</p>
      {pairs.map((p) => {
        const other = p.a === boat.id ? p.b : p.a;
        const record = local.records<Encounter>('inspection').find((r) => r.entry.subject === other)?.entry.body;
        const craft = names.craft(record?.inspection.setup.class);
        return (
          <section key={other} className="box">
            <h2>
              {say('same.other', {
                craft,
                time: record ? clockTime(locale, new Date(record.inspection.startedAt)) : '',
              })}
            </h2>
            <p>{say('same.agree', { list: words(p.agree) })}</p>
            <p>{say('same.differ', { list: words(p.differ) })}</p>
            <Tile onClick={() => decide(other, 'same')}>{say('same.same')}</Tile>
            <Tile onClick={() => decide(other, 'different')}>{say('same.different')}</Tile>
          </section>
        );
      })}
      {pairs.length === 0 ? (
        <p>{say('same.none', { time: isoLocal(new Date(boat.startedAt)).slice(11, 16) })}</p>
      ) : null}
    </Frame>
  );
}
