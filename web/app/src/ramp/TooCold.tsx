import { useState } from 'react';
import type { Choice, WashUnit } from '../engine/types.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Choose } from '../parts/Field.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { amounts } from '../shared/units.ts';
import { Frame } from './Frame.tsx';
import { unitOf } from './judge.ts';
import { choicesOf } from './names.ts';
import { usePrefs } from './prefs.ts';
import { call, useAnswer, useRamp } from './state.tsx';
import type { StepProps } from './washing.ts';

/** What may be done when the water is not hot enough: every choice is the engine's, and none of them turns a cold step into a met one. */
export function TooCold({ wash, state, claim, onNext, onBack }: StepProps & { onBack: () => void }) {
  const say = useSay();
  const ramp = useRamp();
  const { units } = usePrefs();
  const { temp } = amounts(units, localeOf(useLanguage()));
  const [choice, setChoice] = useState<Choice>();
  const kit = ramp.books.units.find((u) => u.subject === wash.kit)?.body;
  const readC = state.probes[0]?.at(-1)?.tempC;
  const { value: owed, error } = useAnswer(() => {
    const unit: WashUnit = {
      ...wash.order.cs.unit,
      ...unitOf(kit),
      ...(readC === undefined ? {} : { outletC: readC, readAt: 'nozzle' }),
    };
    return call('treat', { ...wash.order.cs, unit });
  }, [wash.id, readC, kit]);
  const step = owed?.treatment?.steps.find((s) => s.part === state.step.part && (s.targetC ?? 0) > 0);
  const others = (owed?.treatment?.steps ?? []).filter((s) => (s.targetC ?? 0) > 0);
  if (choice)
    return <Alternative {...{ wash, state, claim, onNext }} choice={choice} onBack={() => setChoice(undefined)} />;
  const cannot = async () => {
    const why = step?.because ?? say('early.heat');
    if (await ramp.washAct(wash.id, { do: 'end', step: state.step.n, outcome: 'not_possible', why: why.slice(0, 500) }))
      onNext();
  };
  return (
    <Frame
      leave={onBack}
      at="cold"
      acts={
        <Tiles>
          <Tile icon="undo" onClick={onBack}>
            {say('walk.back')}
          </Tile>
          <Tile icon="unseen" onClick={cannot}>
            {say('cold.cannot')}
          </Tile>
        </Tiles>
      }
    >
      <h1>
        {say('cold.title', {
          read: readC === undefined ? '–' : temp(readC, 1),
          need: temp(state.step.targetC ?? 0, 1),
        })}
      </h1>
      {error ? <p className="trouble">{error}</p> : null}
      {step?.because ? <p>{step.because}</p> : null}
      <h2>{say('cold.choices')}</h2>
      <ul className="rows">
        {(step?.choices ?? []).map((c) => (
          <li key={`${c.code}${c.text}`}>
            <p>{c.text}</p>
            {c.source ? <p>{c.source}</p> : null}
            {c.code === 'alternative' ? (
              <Tile icon="person" onClick={() => setChoice(c)} sub={say('cold.notStandard', { n: c.approvals ?? 2 })}>
                {say('cold.alternative')}
              </Tile>
            ) : null}
          </li>
        ))}
      </ul>
      <h2>{say('cold.parts')}</h2>
      <ul className="rows">
        {others.map((s) => (
          <li key={s.n}>
            <span className="row-name">{say(`part.${s.part as 'hull'}`)}</span> · {temp(s.targetC ?? 0, 1)} ·{' '}
            {say(s.possible === 'yes' ? 'cold.possible' : s.possible === 'not_now' ? 'cold.notNow' : 'cold.notKnown')}
          </li>
        ))}
      </ul>
      <p>{say('cold.longer')}</p>
    </Frame>
  );
}

/** An alternative is no standard: two different people answer for it by name. */
function Alternative({ wash, state, onNext, choice, onBack }: StepProps & { choice: Choice; onBack: () => void }) {
  const say = useSay();
  const ramp = useRamp();
  const [first, setFirst] = useState('');
  const [second, setSecond] = useState('');
  const among = choicesOf(ramp.people.filter((p) => !p.body.left));
  const none = say('override.choose');
  const ready = first !== '' && second !== '' && first !== second;
  const save = async () => {
    if (
      await ramp.washAct(wash.id, {
        do: 'end',
        step: state.step.n,
        outcome: 'alternative',
        why: choice.text.slice(0, 500),
        approvals: [first, second],
      })
    )
      onNext();
  };
  return (
    <Frame
      leave={onBack}
      at="alternative"
      acts={
        <Tiles>
          <Tile icon="undo" onClick={onBack}>
            {say('walk.back')}
          </Tile>
          <Tile disabled={!ready} onClick={save}>
            {say('cold.approve')}
          </Tile>
        </Tiles>
      }
    >
      <h1>{say('cold.alternative')}</h1>
      <p>{choice.text}</p>
      {choice.source ? <p>{choice.source}</p> : null}
      <p>{say('cold.receiptSays')}</p>
      <Choose id="approve-1" label={say('cold.first')} value={first} {...{ none, among }} onPick={setFirst} />
      <Choose id="approve-2" label={say('cold.second')} value={second} {...{ none, among }} onPick={setSecond} />
    </Frame>
  );
}
