import type { Judgement, Reason } from '../engine/types.ts';
import { spokenIn } from '../messages/engine.ts';
import { useLanguage, useSay } from '../messages/index.tsx';
import { Plate, plateKind } from '../parts/Plate.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { may, standingOf } from './offers.ts';
import { go } from './route.ts';
import { useTwins } from './SameBoat.tsx';
import { sealBoat } from './sealing.ts';
import { call, useAnswer, useRamp } from './state.tsx';

/** What the engine says of a boat as it stands. */
export function useJudgement(boat: Boat) {
  const { caseFor, books, shift, weather } = useRamp();
  return useAnswer(async () => call('verdict', await caseFor(boat)), [boat, books, weather, shift?.unit]);
}

/** Word, reason, act; below them everything the verdict rests on. */
export function VerdictScreen({ boat }: { boat: Boat }) {
  const say = useSay();
  const { value: judged, error } = useJudgement(boat);
  if (error) {
    // What cannot be judged is not a pass.
    return (
      <Frame undo={boat.id} acts={<Go onClick={() => go('help')}>{say('verdict.callLead')}</Go>}>
        <Plate kind="open" word={say('verdict.open')}>
          <p className="plate-line">{say('verdict.openWhy')}</p>
        </Plate>
        <p className="trouble">{error}</p>
      </Frame>
    );
  }
  if (!judged) return <Frame undo={boat.id}>{null}</Frame>;
  return <Judged boat={boat} judged={judged} />;
}

function Judged({ boat, judged }: { boat: Boat; judged: Judgement }) {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const language = useLanguage();
  const twins = useTwins(boat);
  const v = judged.verdict;
  const now = boat.override?.outcome ?? v.now;
  const rest = boat.override ? 0 : 1; // the first reason stands on the plate
  const kind = plateKind(now);
  // What stands after the first act is what the boat waits for.
  const standing = standingOf(boat, boat.override?.outcome ?? v.outcome);
  const word = boat.override ? names.outcome(now) : judged.plate;
  const seal = async (next: () => void) => {
    if (await sealBoat(ramp, boat, v)) next();
  };
  return (
    <Frame
      undo={boat.id}
      at="verdict"
      acts={
        <>
          <Tiles>
            <Tile icon="person" onClick={() => go('boat', boat.id, 'card')}>
              {say('verdict.card')}
            </Tile>
            {may(standing, 'dry') ? (
              <Tile icon="clock" onClick={() => go('boat', boat.id, 'dry')}>
                {say('verdict.dryClock')}
              </Tile>
            ) : standing === 'refused' ? null : (
              <Tile icon="list" onClick={() => go('boat', boat.id, 'walk')}>
                {say('verdict.lookAgain')}
              </Tile>
            )}
          </Tiles>
          <NextAct boat={boat} outcome={now} seal={seal} />
        </>
      }
    >
      <Plate kind={kind} word={word}>
        <p className="plate-line">
          {boat.override ? say('verdict.decided', { why: boat.override.why }) : v.reasons[0]?.text}
        </p>
        {v.outcome !== v.now && !boat.override ? (
          <p className="plate-line">{say('verdict.then', { word: judged.then })}</p>
        ) : null}
      </Plate>
      {boat.override ? (
        <p className="box">
          {say('verdict.overridden', {
            by: names.person(boat.override.by),
            word: judged.plate,
            why: boat.override.why,
          })}
        </p>
      ) : null}
      {twins.length > 0 ? (
        <Link icon="boats" onClick={() => go('boat', boat.id, 'same')}>
          {say('verdict.sameBoat')}
        </Link>
      ) : null}
      {boat.override ? null : <p lang={spokenIn(language) === language ? undefined : 'en'}>{judged.say}</p>}
      {v.unconfirmed ? <p>{say('verdict.unconfirmed', { ref: v.versions.protocol })}</p> : null}
      {v.localWord ? <p>{say('verdict.localWord', { word: v.localWord })}</p> : null}
      {v.reasons.length > rest ? <Reasons reasons={v.reasons.slice(rest)} /> : null}
      <p>
        {say('verdict.standards', {
          list: v.standards
            .filter((s) => s.required)
            .map((s) => say(`standard.${s.standard as 'clean'}.${answerWord(s.met)}`))
            .join(' · '),
        })}
      </p>
      <p>{say('verdict.settled', { settled: v.settled, places: v.places })}</p>
      {may(standing, 'override') ? (
        <Link icon="refuse" onClick={() => go('boat', boat.id, 'override')}>
          {say('verdict.override')}
        </Link>
      ) : null}
    </Frame>
  );
}

function NextAct({ boat, outcome, seal }: { boat: Boat; outcome: string; seal: (next: () => void) => void }) {
  const say = useSay();
  const sealThen = (sheet: string) => () => seal(() => go('boat', boat.id, sheet));
  switch (outcome) {
    case 'launch':
      return (
        <Go icon="code" onClick={sealThen('receipt')} sub={say('verdict.launchSub')}>
          {say('verdict.launchGo')}
        </Go>
      );
    case 'fix_here':
      return (
        <Go icon="feel" onClick={() => go('boat', boat.id, 'fix')} sub={say('verdict.fixSub')}>
          {say('verdict.fixGo')}
        </Go>
      );
    case 'wash':
      return (
        <Go icon="spray" onClick={() => go('boat', boat.id, 'washoffer')} sub={say('verdict.washSub')}>
          {say('verdict.washGo')}
        </Go>
      );
    case 'dry':
      return (
        <Go icon="sun" onClick={sealThen('dry')} sub={say('verdict.drySub')}>
          {say('verdict.dryGo')}
        </Go>
      );
    default:
      return boat.refused !== undefined ? (
        <Go onClick={sealThen('')}>{say('verdict.refusedGo')}</Go>
      ) : (
        <Go icon="call" onClick={() => seal(() => go('incident', boat.id))} sub={say('verdict.holdSub')}>
          {say('verdict.holdGo')}
        </Go>
      );
  }
}

export const answerWord = (a: string): 'yes' | 'no' | 'unknown' => (a === 'yes' || a === 'no' ? a : 'unknown');

/** Every reason in words, the strictest first. Places that nobody settled are said in one line when they are many. */
export function Reasons({ reasons }: { reasons: readonly Reason[] }) {
  const say = useSay();
  const many = reasons.length > 8;
  const shown = many ? reasons.slice(0, 7) : reasons;
  return (
    <section aria-labelledby="reasons">
      <h2 id="reasons">{say('verdict.why')}</h2>
      <ul className="rows reasons">
        {shown.map((r) => (
          <li key={`${r.code}${r.place ?? ''}${r.finding ?? ''}${r.rule ?? ''}`}>
            {r.text}
            {r.source ? <span className="row-say">{r.source}</span> : null}
          </li>
        ))}
      </ul>
      {many ? (
        <details>
          <summary>{say('verdict.moreReasons', { n: reasons.length - shown.length })}</summary>
          <ul className="rows reasons">
            {reasons.slice(7).map((r) => (
              <li key={`${r.code}${r.place ?? ''}${r.finding ?? ''}${r.rule ?? ''}`}>{r.text}</li>
            ))}
          </ul>
        </details>
      ) : null}
    </section>
  );
}
