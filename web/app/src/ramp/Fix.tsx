import { useState } from 'react';
import type { Reason } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import type { IconName } from '../parts/Icon.tsx';
import { Go, Tile } from '../parts/Tiles.tsx';
import { type Boat, type NewAct, secondsEach } from './boat.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { useRamp } from './state.tsx';
import { useJudgement } from './VerdictScreen.tsx';

interface Mending {
  readonly key:
    | 'fix.off'
    | 'fix.drained'
    | 'fix.dried'
    | 'fix.ranDry'
    | 'fix.plugs'
    | 'fix.drive'
    | 'fix.strainer'
    | 'fix.look';
  readonly icon: IconName;
  /** Left out where the place has to be walked to. */
  readonly act?: NewAct;
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
  const rows = (judged?.verdict.reasons ?? []).flatMap((r) => {
    const m = mendingOf(boat, r);
    return m && r.outcome !== 'launch' ? [{ r, m }] : [];
  });
  const unlooked = rows.filter((x) => !x.m.act);
  const shown = rows.filter((x) => x.m.act);
  return (
    <Frame
      undo={boat.id}
      leave={boat.acts.length > before ? undefined : () => go('boat', boat.id)}
      at="fix"
      acts={<Go onClick={() => go('boat', boat.id)}>{say(rows.length === 0 ? 'fix.verdict' : 'fix.verdictNow')}</Go>}
    >
      <h1>{say(rows.length || !judged ? 'fix.title' : 'fix.allDone')}</h1>
      {error ? <p className="trouble">{error}</p> : null}
      <p>{say('fix.how')}</p>
      <ul className="rows fix">
        {shown.map(({ r, m }) => (
          <li key={`${r.code}${r.place ?? ''}${r.finding ?? ''}`}>
            <p>{r.text}</p>
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
