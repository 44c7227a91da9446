import { useState } from 'react';
import type { WashClaim } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { boatOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { lastCheck } from './judge.ts';
import { useNames } from './names.ts';
import { WashOver } from './Order.tsx';
import { rememberAsked } from './order.ts';
import { go, useRoute } from './route.ts';
import { StandingMark } from './Standing.tsx';
import { call, isoLocal, useAnswer, useRamp } from './state.tsx';
import { StepLine, Supply } from './WashOffer.tsx';
import { WashStepScreen } from './WashStep.tsx';
import {
  cautioned,
  claimOf,
  heated,
  logTimer,
  looksOf,
  protocolIn,
  type StepState,
  stepsOf,
  untouched,
  washDone,
} from './washing.ts';

/** The wash of one craft: its steps in order, one open at a time. */
export function WashScreen() {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const { id, sheet } = useRoute();
  const wash = ramp.washes.find((w) => w.id === id);
  const [reading, setReading] = useState(false);
  if (!wash && sheet === 'over') return <WashOver encounter={id} />;
  if (!wash) {
    return (
      <Frame>
        <h1>{say('wash.gone')}</h1>
        <p>{say('wash.goneWhy')}</p>
      </Frame>
    );
  }
  const kit = ramp.books.units.find((u) => u.subject === wash.kit)?.body;
  const doubt = lastCheck(kit)?.plusMinusC;
  const claim = (s: StepState): WashClaim => claimOf(wash, s, doubt);
  const steps = stepsOf(wash);
  const looks = looksOf(wash);
  const first =
    !cautioned(wash) && !ramp.washes.some((w) => w.id !== wash.id && cautioned(w)) && !shiftCautioned(ramp.shift?.from);
  if (first || reading) {
    return (
      <Cautions
        onRead={async () => {
          rememberCautioned(ramp.shift?.from);
          if (await ramp.washAct(wash.id, { do: 'cautioned' })) setReading(false);
        }}
      />
    );
  }
  const at = steps.find((s) => String(s.step.n) === sheet);
  if (at)
    return (
      <WashStepScreen
        key={at.step.n} // what is open on one step is not open on the next
        wash={wash}
        state={at}
        claim={claim(at)}
        onNext={() => go('wash', wash.id, String(steps.find((s) => !s.outcome && s.step.n > at.step.n)?.step.n ?? ''))}
      />
    );
  const next = steps.find((s) => !s.outcome);
  const finish = async () => {
    const ended = isoLocal(new Date());
    const ok = await ramp.saving(async () => {
      const body = washDone(wash, claim, [ramp.me].filter(Boolean), ended);
      for (const s of body.steps) {
        if (s.probes?.some((p) => p.length > 0))
          s.proof = await call('proof', { ...protocolIn(ramp.rule), claim: s.claim, probes: s.probes });
      }
      if (wash.order.sum) await rememberAsked(wash.order.encounter, wash.order.sum);
      await local.seal('wash', body, { draft: wash.id });
      for (const s of steps)
        if (local.timers.get(logTimer(wash.id, s.step.n))) await local.timers.drop(logTimer(wash.id, s.step.n));
    });
    if (!ok) return;
    await ramp.drop(wash.id);
    const boat = ramp.dones.find(
      (d) => d.boat.id === wash.order.encounter || boatOf(d.boat).sealed?.subject === wash.order.encounter,
    );
    if (boat) go('boat', boat.boat.id);
    else go('wash', wash.order.encounter, 'over');
  };
  const leave = async () => {
    if (await ramp.drop(wash.id)) go('home');
  };
  return (
    <Frame
      undo={wash.id}
      at="steps"
      acts={
        next ? (
          <Go icon="spray" onClick={() => go('wash', wash.id, String(next.step.n))}>
            {say('wash.next', { n: next.step.n, what: say(`step.${next.step.kind as 'wash'}`) })}
          </Go>
        ) : (
          <Go onClick={finish} disabled={!wash.kit} sub={say('wash.finishSub')}>
            {say('wash.finish')}
          </Go>
        )
      }
    >
      <h1>
        {say('wash.title', {
          craft: names.craft(wash.order.craft),
        })}
      </h1>
      <StandingMark onRead={() => setReading(true)} />
      {wash.kit ? null : <UnitPick onPick={(kitId) => ramp.save({ ...wash, kit: kitId })} />}
      <Supply treatment={wash.order.treatment} />
      <ol className="rows">
        {steps.map((s) => (
          <li key={s.step.n}>
            <button type="button" className="row wide" onClick={() => go('wash', wash.id, String(s.step.n))}>
              <StepLine step={s.step} brief />
              {s.outcome ? <span className={`outcome outcome-${s.outcome}`}>{say(`outcome.${s.outcome}`)}</span> : null}
            </button>
          </li>
        ))}
      </ol>
      {looks.length ? (
        <section className="box" aria-labelledby="looks">
          <h2 id="looks">{say('wash.looks')}</h2>
          <ul className="rows">
            {looks.map((s) => (
              <li key={s.n}>
                <StepLine step={s} brief />
              </li>
            ))}
          </ul>
          <p>{say('wash.looksWhy')}</p>
        </section>
      ) : null}
      {untouched(wash) ? <Link onClick={leave}>{say('wash.notThis')}</Link> : null}
      {steps.some((s) => s.outcome && s.outcome !== 'met' && s.outcome !== 'done' && heated(s.step)) ? (
        <p className="trouble">{say('wash.short')}</p>
      ) : null}
    </Frame>
  );
}

function UnitPick({ onPick }: { onPick: (id: string) => void }) {
  const say = useSay();
  const { books } = useRamp();
  return (
    <section className="box">
      <h2>{say('wash.whichUnit')}</h2>
      <Tiles>
        {books.units
          .filter((u) => !u.body.outOfService)
          .map((u) => (
            <Tile key={u.subject} onClick={() => onPick(u.subject)}>
              {u.body.name}
            </Tile>
          ))}
      </Tiles>
    </section>
  );
}

const CAUTIONED = 'thwart-ramp-cautioned';
function shiftCautioned(from: string | undefined): boolean {
  try {
    return from !== undefined && localStorage.getItem(CAUTIONED) === from;
  } catch {
    return false; // then they are read once more
  }
}
function rememberCautioned(from: string | undefined) {
  try {
    if (from) localStorage.setItem(CAUTIONED, from);
  } catch {
    // Read again at the next wash.
  }
}

/** What cannot be undone by heat or pressure: once a shift in full, in words. */
function Cautions({ onRead }: { onRead: () => void }) {
  const say = useSay();
  const { library } = useRamp();
  const known: readonly string[] = library?.triggers ?? [];
  const all = useAnswer(
    () =>
      known.length
        ? call('cautions', { triggers: washTriggers.filter((t) => known.includes(t)), hottestC: HOTTEST_C })
        : undefined,
    [known.length],
  ).value;
  return (
    <Frame
      at="cautions"
      acts={
        <Go onClick={onRead} sub={say('wash.cautionsSub')}>
          {say('wash.cautionsRead')}
        </Go>
      }
    >
      <h1>{say('wash.cautions')}</h1>
      <div className="caution">
        <ul>
          {(all?.cautions ?? []).map((c) => (
            <li key={c.id}>
              {c.text} {c.deferTo ? <span className="row-say">{c.deferTo}</span> : null}
            </li>
          ))}
        </ul>
      </div>
      <p>{say('wash.lawFirst')}</p>
    </Frame>
  );
}

/** The hottest that a unit is set to give (150 °F), so that no scald time is left out. */
const HOTTEST_C = 66;

/** Cautions that belong to hot water, pressure, burner, engine and trailer. */
const washTriggers = ['prepare', 'hot_water', 'burner', 'high_spray', 'engine_flush', 'trailer', 'under', 'aboard'];
