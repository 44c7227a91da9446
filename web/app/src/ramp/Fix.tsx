import { useState } from 'react';
import type { Place, Reason } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import type { IconName } from '../parts/Icon.tsx';
import { Go, Tile } from '../parts/Tiles.tsx';
import { type Boat, type NewAct, secondsEach } from './boat.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { call, useAnswer, useRamp } from './state.tsx';
import { useJudgement } from './VerdictScreen.tsx';

interface Mending {
  readonly key:
    | 'fix.off'
    | 'fix.drained'
    | 'fix.dried'
    | 'fix.ranDry'
    | 'fix.allRanDry'
    | 'fix.plugs'
    | 'fix.drive'
    | 'fix.strainer'
    | 'fix.look';
  readonly icon: IconName;
  /** Left out where the place has to be walked to. */
  readonly act?: NewAct;
}

/** Reasons that one act mends. */
interface Row {
  readonly reasons: readonly Reason[];
  readonly mending: Mending;
}

/** What is to be mended, one row for one act: the pumps that empty every ballast tank, valve and vent are asked about once. */
function rowsOf(boat: Boat, reasons: readonly Reason[], places: readonly Place[]): Row[] {
  const ballast = new Set(places.filter((p) => p.hidden && p.part === 'ballast').map((p) => p.id));
  const pumped = reasons.filter((r) => r.code === 'hidden_counts_wet' && ballast.has(r.place ?? ''));
  return reasons.flatMap((r) => {
    if (r.outcome === 'launch') return [];
    if (pumped.length < 2 || !pumped.includes(r)) {
      const mending = mendingOf(boat, r);
      return mending ? [{ reasons: [r], mending }] : [];
    }
    if (r !== pumped[0]) return [];
    const seconds = secondsEach(boat, Date.now(), pumped.length);
    const checks = pumped.map((x) => ({ place: x.place ?? '', seconds, ranDry: 'yes', wet: 'film' }) as const);
    return [{ reasons: pumped, mending: { key: 'fix.allRanDry', icon: 'drain', act: { do: 'checks', checks } } }];
  });
}

/** What a tap on a reason says was done about it. Whether that is enough, the engine says anew. */
function mendingOf(boat: Boat, r: Reason): Mending | undefined {
  const place = r.place ?? '';
  const seconds = secondsEach(boat, Date.now(), 1);
  const check = (more: object): NewAct => ({ do: 'checks', checks: [{ place, seconds, ...more }] });
  if (r.finding) {
    const water = boat.findings[r.finding - 1]?.matter === 'water';
    return {
      key: water ? 'fix.drained' : 'fix.off',
      icon: water ? 'drain' : 'feel',
      act: { do: 'mend', finding: r.finding - 1, change: { removed: 'all' } },
    };
  }
  switch (r.code) {
    case 'plug_in':
    case 'plug_not_known':
      return { key: 'fix.plugs', icon: 'drain', act: { do: 'outlet', outlet: 'plugsOut', answer: 'yes' } };
    case 'drive_not_lowered':
    case 'drive_not_known':
      return { key: 'fix.drive', icon: 'lower', act: { do: 'outlet', outlet: 'driveLowered', answer: 'yes' } };
    case 'strainer_in':
      return { key: 'fix.strainer', icon: 'open', act: { do: 'outlet', outlet: 'strainerOut', answer: 'yes' } };
    case 'standing_water':
    case 'film_of_water':
    case 'damp':
      return { key: 'fix.dried', icon: 'sun', act: check({ wet: 'dry' }) };
    case 'hidden_counts_wet':
      return { key: 'fix.ranDry', icon: 'drain', act: check({ ranDry: 'yes', wet: 'film' }) };
    case 'not_looked':
    case 'not_felt':
    case 'not_opened':
    case 'water_not_known':
      return place ? { key: 'fix.look', icon: 'look' } : undefined;
  }
  return undefined;
}

/** What has to come off, out or dry, one by one; each is looked at again before it counts. */
export function FixHere({ boat }: { boat: Boat }) {
  const say = useSay();
  const { act } = useRamp();
  const { value: judged, error } = useJudgement(boat);
  const [before] = useState(boat.acts.length);
  const places = useAnswer(() => boat.setup && call('places', { setup: boat.setup }), [boat.setup]).value?.places;
  const rows = places ? rowsOf(boat, judged?.verdict.reasons ?? [], places) : [];
  const unlooked = rows.filter((x) => !x.mending.act);
  const shown = rows.filter((x) => x.mending.act);
  return (
    <Frame
      undo={boat.id}
      leave={boat.acts.length > before ? undefined : () => go('boat', boat.id)}
      at="fix"
      acts={
        <Go onClick={() => go('boat', boat.id)}>{say(rows.length || !places ? 'fix.verdictNow' : 'fix.verdict')}</Go>
      }
    >
      <h1>{say(rows.length || !judged || !places ? 'fix.title' : 'fix.allDone')}</h1>
      {error ? <p className="trouble">{error}</p> : null}
      <p>{say('fix.how')}</p>
      <ul className="rows fix">
        {shown.map(({ reasons, mending: m }) => (
          <li key={reasons.map((r) => `${r.code}${r.place ?? ''}${r.finding ?? ''}`).join()}>
            {reasons.map((r) => (
              <p key={r.place}>{r.text}</p>
            ))}
            <Tile icon={m.icon} onClick={() => m.act && act(boat.id, m.act)}>
              {say(m.key)}
            </Tile>
          </li>
        ))}
      </ul>
      {unlooked.length > 0 ? (
        <section className="box">
          <p>{say('fix.unlooked', { n: unlooked.length })}</p>
          <Tile icon="look" onClick={() => go('boat', boat.id, 'walk')}>
            {say('fix.look')}
          </Tile>
        </section>
      ) : null}
    </Frame>
  );
}
