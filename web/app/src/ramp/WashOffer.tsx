import type { Step, Treatment } from '../engine/types.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { amounts } from '../shared/units.ts';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { usePrefs } from './prefs.ts';
import { go } from './route.ts';
import { beginWash, sealBoat } from './sealing.ts';
import { call, useAnswer, useRamp } from './state.tsx';
import { useJudgement } from './VerdictScreen.tsx';
import { orderOf } from './washing.ts';

/** What the wash takes, before it starts: minutes, water, fuel, and whether the tank holds it. */
export function WashOffer({ boat }: { boat: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const { value: judged } = useJudgement(boat);
  const { value: owed, error } = useAnswer(async () => {
    const cs = await ramp.caseFor(boat);
    return { cs, treatment: (await call('treat', cs)).treatment };
  }, [boat, ramp.shift?.unit, ramp.weather]);
  const t = owed?.treatment;
  const handOver = async () => {
    if (judged && (await sealBoat(ramp, boat, judged.verdict))) go('boat', boat.id, 'order');
  };
  const start = async () => {
    if (!owed || !t || !judged) return;
    const order = orderOf(
      owed.cs.inspection.setup,
      t,
      judged.verdict.atRisk,
      owed.cs,
      boat.correcting?.subject ?? boat.id,
    );
    if (!(await sealBoat(ramp, boat, judged.verdict))) return;
    await beginWash(ramp, order);
  };
  return (
    <Frame
      leave={() => go('boat', boat.id)}
      at="washoffer"
      acts={
        <>
          <Tiles>
            <Tile icon="undo" onClick={() => go('boat', boat.id)}>
              {say('walk.back')}
            </Tile>
            <Tile icon="code" disabled={!judged} onClick={handOver}>
              {say('offer.handOver')}
            </Tile>
          </Tiles>
          <Go icon="spray" disabled={!t || !judged} onClick={start} sub={say('offer.startSub')}>
            {say('offer.start')}
          </Go>
        </>
      }
    >
      <h1>{say('offer.title')}</h1>
      {error ? <p className="trouble">{error}</p> : null}
      {t ? <Supply treatment={t} /> : null}
      {t && !t.possible ? (
        <p className="trouble">{say('offer.notNow', { word: names.outcome(t.instead ?? '') })}</p>
      ) : null}
      <ol className="rows">
        {(t?.steps ?? []).map((s) => (
          <li key={s.n}>
            <StepLine step={s} />
          </li>
        ))}
      </ol>
      {(t?.notes ?? []).map((n) => (
        <p key={n}>{n}</p>
      ))}
    </Frame>
  );
}

/** Supply in what matters: boats left, not litres alone. */
export function Supply({ treatment: t }: { treatment: Treatment }) {
  const say = useSay();
  const { units } = usePrefs();
  const minutes = Math.ceil(t.minutes);
  const { volume } = amounts(units, localeOf(useLanguage()));
  return (
    <dl className="facts box">
      <dt>{say('offer.time')}</dt>
      <dd>{say('offer.minutes', { h: Math.floor(minutes / 60), min: minutes % 60 })}</dd>
      <dt>{say('offer.water')}</dt>
      <dd>{volume(t.waterL)}</dd>
      <dt>{say('offer.fuel')}</dt>
      <dd>{volume(t.fuelL)}</dd>
      <dt>{say('offer.waste')}</dt>
      <dd>{volume(t.wasteL)}</dd>
      {t.boatsLeft === undefined ? null : (
        <>
          <dt>{say('offer.tank')}</dt>
          <dd>{say('offer.boatsLeft', { n: t.boatsLeft })}</dd>
        </>
      )}
    </dl>
  );
}

/** A step of a wash; in brief where its own screen says all of it. */
export function StepLine({ step: s, brief = false }: { step: Step; brief?: boolean }) {
  const say = useSay();
  const { units } = usePrefs();
  const { temp } = amounts(units, localeOf(useLanguage()));
  return (
    <span className="step-line">
      <span className="row-n">{s.n}</span>
      <span>
        <span className="row-name">
          {say(`step.${s.kind as 'wash'}`)}
          {s.part ? ` · ${say(`part.${s.part as 'hull'}`)}` : ''}
        </span>
        {s.targetC ? (
          <strong className="row-say">{say('step.target', { temp: temp(s.targetC), s: s.contactS ?? 0 })}</strong>
        ) : null}
        {brief ? null : <span className="row-say">{s.do}</span>}
        {s.possible === 'not_now' ? <span className="wrong">{s.because}</span> : null}
      </span>
    </span>
  );
}
