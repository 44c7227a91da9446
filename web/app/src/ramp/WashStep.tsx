import { useEffect, useRef, useState } from 'react';
import type { Probe, WashClaim, WashProgress } from '../engine/types.ts';
import { useTimer } from '../local/hooks.ts';
import { local } from '../local/index.ts';
import { type Key, localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Field } from '../parts/Field.tsx';
import { Held, Thermometer } from '../parts/Heat.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { whyOf } from '../parts/why.ts';
import { useAwake } from '../phone/index.ts';
import { amounts, minSec } from '../shared/units.ts';
import { Frame } from './Frame.tsx';
import { usePrefs } from './prefs.ts';
import { go } from './route.ts';
import { StandingMark, Warning } from './Standing.tsx';
import { call, useAnswer, useRamp } from './state.tsx';
import { TooCold } from './TooCold.tsx';
import { Why } from './Why.tsx';
import { heated, logTimer, protocolIn, type StepProps, type StepState } from './washing.ts';

/** One step of a wash: what to do, what to mind, and for heat the clock that only counts what is shown to be hot. */
export function WashStepScreen(props: StepProps) {
  const [doing, setDoing] = useState<'step' | 'end' | 'cold'>('step');
  if (doing === 'end') return <EndEarly {...props} onBack={() => setDoing('step')} />;
  if (doing === 'cold') return <TooCold {...props} onBack={() => setDoing('step')} />;
  return heated(props.state.step) ? (
    <HeatStep {...props} onEnd={() => setDoing('end')} onCold={() => setDoing('cold')} />
  ) : (
    <HandStep {...props} onEnd={() => setDoing('end')} />
  );
}

function StepHead({ state }: { state: StepState }) {
  const say = useSay();
  const s = state.step;
  return (
    <h1>
      {s.n} · {say(`step.${s.kind as 'wash'}`)}
      {s.part ? ` · ${say(`part.${s.part}`)}` : ''}
    </h1>
  );
}

/** What to mind at this step: in words before it begins, then as a mark that opens. */
function StepCautions({ state, open }: { state: StepState; open: boolean }) {
  const say = useSay();
  const list = state.step.cautions ?? [];
  if (list.length === 0) return <StandingMark />;
  return (
    <details className="mind" open={open}>
      <summary className="standing">
        <Warning /> {say('wash.standing')}
      </summary>
      <div className="caution">
        {list.map((c) => (
          <p key={c}>{c}</p>
        ))}
      </div>
    </details>
  );
}

/** Where the last answer belongs to another step, taking it back shows that step: nothing is taken back out of sight. */
function useLeave({ wash, state }: StepProps): (() => void) | undefined {
  const ramp = useRamp();
  const last = wash.acts.at(-1);
  if (!last) return undefined;
  const of = last.do === 'cautioned' ? undefined : last.step;
  if (of === state.step.n) return undefined;
  if (of === undefined) return () => go('wash', wash.id);
  return async () => {
    if (await ramp.undo(wash.id)) go('wash', wash.id, String(of));
  };
}

function HandStep(props: StepProps & { onEnd: () => void }) {
  const { wash, state, onNext, onEnd } = props;
  const say = useSay();
  const { washAct } = useRamp();
  return (
    <Frame
      undo={wash.id}
      leave={useLeave(props)}
      at={`step-${state.step.n}`}
      acts={
        <>
          <Tiles>
            <Tile icon="list" onClick={() => go('wash', wash.id)}>
              {say('wash.all')}
            </Tile>
            <Tile icon="unseen" onClick={onEnd}>
              {say('wash.couldNot')}
            </Tile>
          </Tiles>
          <Go
            onClick={async () =>
              (await washAct(wash.id, { do: 'end', step: state.step.n, outcome: 'done' })) && onNext()
            }
          >
            {say('wash.done')}
          </Go>
        </>
      }
    >
      <StepHead state={state} />
      <p>{state.step.do}</p>
      <StepCautions state={state} open={true} />
      {state.outcome ? <p className="box">{say(`outcome.${state.outcome}`)}</p> : null}
    </Frame>
  );
}

/** What the engine says of the step at this second. */
function useProgress(props: StepProps): { progress: WashProgress | undefined; error: string | undefined; atS: number } {
  const { rule } = useRamp();
  const { seconds } = useTimer(logTimer(props.wash.id, props.state.step.n));
  const logged = props.state.logName
    ? Math.max(0, ...props.state.probes.flatMap((p) => p.map((r) => r.atS)))
    : undefined;
  const atS = logged ?? seconds;
  const probes = props.state.probes.map((p) => [...p]);
  const { value, error } = useAnswer(
    () => call('progress', { ...protocolIn(rule), claim: props.claim, probes, atS }),
    [atS, props.state, JSON.stringify(props.claim)],
    true,
  );
  return { progress: value, error, atS };
}

function HeatStep(props: StepProps & { onEnd: () => void; onCold: () => void }) {
  const say = useSay();
  const { wash, state, claim } = props;
  const ramp = useRamp();
  const { progress, error } = useProgress(props);
  useAwake(true);
  useSignal(progress?.state === 'met');
  const finish = async () => {
    if (await ramp.washAct(wash.id, { do: 'end', step: state.step.n, outcome: 'met' })) props.onNext();
  };
  const met = progress?.state === 'met';
  // Until the first reading there is nothing to watch: what to do and what to mind come first, and the clock after.
  const begun = state.probes.some((p) => p.length > 0) || state.outcome !== undefined;
  const shown = progress ? (
    <Shown progress={progress} claim={claim} probes={state.probes} onCold={props.onCold} />
  ) : null;
  return (
    <Frame
      undo={wash.id}
      leave={useLeave(props)}
      at={`step-${state.step.n}`}
      acts={
        met ? (
          <Go onClick={finish} sub={say('wash.metSub')}>
            {say('wash.met')}
          </Go>
        ) : claim.measured ? (
          <ReadingEntry {...props} />
        ) : (
          <Measured {...props} />
        )
      }
    >
      <StepHead state={state} />
      {error ? <p className="wrong">{error}</p> : null}
      {begun ? shown : null}
      <p>{state.step.do}</p>
      <StepCautions key={String(begun)} state={state} open={!begun} />
      {begun ? null : shown}
      <LogFile {...props} />
      <Tiles>
        <Tile icon="list" onClick={() => go('wash', wash.id)}>
          {say('wash.all')}
        </Tile>
        <Tile icon="unseen" onClick={props.onEnd}>
          {say('wash.endEarly')}
        </Tile>
      </Tiles>
    </Frame>
  );
}

/** Where the thermometer is read decides whether it counts, so it is asked before the first reading. */
function Measured({ wash, state }: StepProps) {
  const say = useSay();
  const { washAct } = useRamp();
  const asked =
    state.step.measured === 'soak' ? (['soak', 'nozzle'] as const) : (['contact', 'exit', 'nozzle'] as const);
  return (
    <>
      <h2>{say('wash.measured')}</h2>
      <Tiles across={3}>
        {asked.map((m) => (
          <Tile
            key={m}
            icon="thermometer"
            onClick={() => washAct(wash.id, { do: 'claim', step: state.step.n, claim: { measured: m } })}
          >
            {say(`measured.${m}`)}
          </Tile>
        ))}
      </Tiles>
    </>
  );
}

const stateWords: Record<string, Key> = {
  met: 'heat.met',
  running: 'heat.running',
  cold: 'heat.cold',
  stale: 'heat.stale',
  not_counting: 'heat.notCounting',
  no_reading: 'heat.noReading',
};

function Shown({
  progress: p,
  claim,
  probes,
  onCold,
}: {
  progress: WashProgress;
  claim: WashClaim;
  probes: StepState['probes'];
  onCold: () => void;
}) {
  const say = useSay();
  const { units } = usePrefs();
  const a = amounts(units, localeOf(useLanguage()));
  const last = probes[0]?.at(-1);
  const running = p.state === 'running';
  return (
    <section className="box">
      <div className="dose">
        <Held heldS={p.heldS} sinceS={running ? p.sinceS : 0} needS={p.needS} state={p.state} />
        <div>
          <p className="state-word" role="status">
            {say(stateWords[p.state] ?? 'heat.noReading')}
          </p>
          <p>
            <span className="big-num">{minSec(p.heldS)}</span>{' '}
            <span className="no-break">
              / <span className="num">{minSec(p.needS)}</span>
            </span>
          </p>
          {running || p.state === 'stale' ? (
            <p>{say('heat.nextBy', { s: Math.max(0, Math.round(p.nextByS - (last?.atS ?? 0) - p.sinceS)) })}</p>
          ) : null}
        </div>
      </div>
      <Thermometer
        readC={last?.tempC}
        plusMinusC={claim.plusMinusC}
        targetC={p.targetC}
        write={(c) => a.temp(c, 1)}
        label={say('heat.thermo')}
      />
      <p>
        {last
          ? say('heat.reading', {
              read: a.temp(last.tempC, 1),
              doubt: claim.plusMinusC === undefined ? say('heat.doubtUnknown') : `±${claim.plusMinusC} °C`,
              proven: p.provenC === undefined ? '–' : a.temp(p.provenC, 1),
              target: a.temp(p.targetC, 1),
            })
          : say('heat.first', { target: a.temp(p.targetC, 1) })}
      </p>
      {(p.state === 'not_counting' ? (p.proof?.why ?? []) : []).map((w) => (
        <p key={w} className="wrong">
          {w}
        </p>
      ))}
      {p.state === 'cold' || p.state === 'not_counting' ? (
        <Link icon="thermometer" onClick={onCold}>
          {say('heat.whatNow')}
        </Link>
      ) : null}
      {(p.proof?.lethal ?? []).slice(0, 3).map((l) => (
        <p key={`${l.organism}${l.stage}`}>{l.text}</p>
      ))}
    </section>
  );
}

/** A typed temperature. The unit stands in the field; a value that belongs to the other unit is asked about, not taken. */
function ReadingEntry({ wash, state }: StepProps) {
  const say = useSay();
  const ramp = useRamp();
  const { units } = usePrefs();
  const a = amounts(units, localeOf(useLanguage()));
  const last = state.probes[0]?.at(-1);
  const [text, setText] = useState('');
  const [wrong, setWrong] = useState('');
  const keep = async (c: number) => {
    const timer = logTimer(wash.id, state.step.n);
    const ok = await ramp.saving(async () => {
      if (!local.timers.get(timer)) await local.timers.start(timer, { wash: wash.id, step: state.step.n });
    });
    if (!ok) return;
    const atS = Math.round(local.timers.elapsedMs(timer) / 100) / 10;
    const probe: Probe = { atS: Math.max(atS, last ? last.atS + 0.1 : 0), tempC: Math.round(c * 100) / 100 };
    if (await ramp.washAct(wash.id, { do: 'reading', step: state.step.n, probe })) setText('');
  };
  const submit = async () => {
    const c = a.readTemp(text);
    if (c === undefined || c < 0 || c > 100) {
      const other =
        Number(text) > 100 && Number(text) <= 212 && units === 'metric'
          ? say('heat.meantF', { c: Math.round(((Number(text) - 32) * 5) / 9), f: Number(text) })
          : '';
      setWrong(`${say('heat.range', { lo: a.temp(0), hi: a.temp(100), given: text || '–' })} ${other}`);
      return;
    }
    setWrong('');
    await keep(c);
  };
  return (
    <form
      className="reading"
      onSubmit={(e) => {
        e.preventDefault();
        void submit();
      }}
    >
      <Field id="reading" label={say('heat.enter')}>
        <div className="with-unit">
          <input
            id="reading"
            inputMode="decimal"
            autoComplete="off"
            value={text}
            aria-describedby="reading-wrong"
            onChange={(e) => setText(e.target.value)}
          />
          <span>{a.tempUnit}</span>
        </div>
        <p id="reading-wrong" className="wrong" role="alert">
          {wrong}
        </p>
      </Field>
      <Tiles>
        <Tile icon="thermometer" disabled={!last} onClick={() => last && keep(last.tempC)}>
          {last ? say('heat.same', { t: a.temp(last.tempC, 1) }) : say('heat.noLast')}
        </Tile>
        <button type="submit" className="tile strong">
          {say('heat.keep')}
        </button>
      </Tiles>
    </form>
  );
}

/** A logger's file in place of typed readings. */
function LogFile({ wash, state }: StepProps) {
  const say = useSay();
  const ramp = useRamp();
  const file = useRef<HTMLInputElement>(null);
  const [wrong, setWrong] = useState('');
  const read = async (f: File | undefined) => {
    if (!f) return;
    try {
      const bytes = new Uint8Array(await f.arrayBuffer());
      let text = '';
      for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
      const out = await call('readTrace', { file: btoa(text) });
      setWrong(out.notes.join(' '));
      await ramp.washAct(wash.id, {
        do: 'log',
        step: state.step.n,
        probes: out.columns.map((c) => c.readings),
        name: f.name,
      });
    } catch (e) {
      setWrong(whyOf(say, e));
    }
  };
  return (
    <div>
      <Link icon="paper" onClick={() => file.current?.click()}>
        {state.logName ? say('heat.log', { name: state.logName }) : say('heat.readLog')}
      </Link>
      <input
        ref={file}
        type="file"
        accept=".csv,.txt,text/csv"
        hidden
        aria-label={say('heat.readLog')}
        onChange={(e) => read(e.target.files?.[0])}
      />
      {wrong ? <p role="status">{wrong}</p> : null}
    </div>
  );
}

const earlyWhys: readonly Key[] = [
  'early.heat',
  'early.water',
  'early.owner',
  'early.unsafe',
  'early.reach',
  'early.notThere',
];

/** Ending early needs a reason and leaves the step short. */
function EndEarly({ wash, state, onNext, onBack }: StepProps & { onBack: () => void }) {
  const say = useSay();
  const { washAct } = useRamp();
  const end = async (why: string, key?: Key) => {
    const outcome = key === 'early.notThere' ? 'not_needed' : key === 'early.heat' ? 'not_possible' : 'short';
    if (await washAct(wash.id, { do: 'end', step: state.step.n, outcome, why })) onNext();
  };
  return (
    <Why at="early" title="early.title" reasons={earlyWhys} onPick={end} onBack={onBack}>
      <p>{say('early.why')}</p>
    </Why>
  );
}

/** Tells the end of a contact time by sound and touch as well; it changes nothing by itself. */
function useSignal(met: boolean) {
  const { sound } = usePrefs();
  const told = useRef(false);
  useEffect(() => {
    if (!met || told.current) return;
    told.current = true;
    if (!sound) return;
    navigator.vibrate?.([200, 100, 200, 100, 400]);
    try {
      const audio = new AudioContext();
      const tone = audio.createOscillator();
      tone.frequency.value = 880;
      tone.connect(audio.destination);
      tone.start();
      tone.stop(audio.currentTime + 0.6);
      tone.onended = () => void audio.close();
    } catch {
      // The screen says it too.
    }
  }, [met, sound]);
}
