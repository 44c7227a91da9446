import { useState } from 'react';
import type { Outcome, OutcomeWord, Part, Place, StepChosen } from '../engine/types.ts';
import { type Key, useSay } from '../messages/index.tsx';
import { PlateGlyph, plateKind } from '../parts/Plate.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import type { Surface } from './surface.ts';

/** Acts that a treatment may consist of, in the usual order of work; those with a part name what is washed. */
const kinds = [
  'remove',
  'drain',
  'look',
  'wash',
  'flush',
  'fill_and_flush',
  'engine_flush',
  'soak',
  'dry',
  'look_again',
  'call',
] as const;
const withPart = new Set<string>(['wash', 'flush', 'fill_and_flush', 'soak']);

/** The verdict, and what has to be done before the craft may launch. */
export function Decide({
  surface,
  outcomes,
  places,
  found,
  onBack,
  onDone,
}: {
  surface: Surface;
  outcomes: readonly OutcomeWord[];
  places: readonly Place[];
  found: number;
  onBack: () => void;
  onDone: (outcome: Outcome, steps: readonly StepChosen[]) => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const [outcome, setOutcome] = useState<Outcome>();
  if (!outcome) {
    return (
      <Frame at="verdict">
        <h1>{say('decide.verdict')}</h1>
        <p>{say('decide.found', { n: found })}</p>
        <Tiles across={1}>
          {outcomes.map((o) => (
            <Tile key={o.id} onClick={() => (o.id === 'launch' ? onDone('launch', []) : setOutcome(o.id))}>
              <PlateGlyph kind={plateKind(o.id)} /> {o.plate}
            </Tile>
          ))}
        </Tiles>
        <Link icon="undo" onClick={onBack}>
          {say('decide.backToRound')}
        </Link>
      </Frame>
    );
  }
  return (
    <Steps
      surface={surface}
      places={places}
      onDone={(steps) => onDone(outcome, steps)}
      onBack={() => setOutcome(undefined)}
    />
  );
}

function Steps({
  surface,
  places,
  onDone,
  onBack,
}: {
  surface: Surface;
  places: readonly Place[];
  onDone: (steps: readonly StepChosen[]) => void;
  onBack: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const parts = [...new Set(places.map((p) => p.part))];
  const [steps, setSteps] = useState<readonly StepChosen[]>([]);
  const [kind, setKind] = useState<string>('remove');
  const [part, setPart] = useState<Part>(parts[0] ?? 'hull');
  const words = (s: StepChosen) => say(`step.${s.kind}` as Key) + (s.part ? `: ${say(`part.${s.part}` as Key)}` : '');
  return (
    <Frame at="steps" acts={<Go onClick={() => onDone(steps)}>{say('decide.done')}</Go>}>
      <h1>{say('decide.steps')}</h1>
      <p>{say('decide.stepsLead')}</p>
      {steps.length === 0 ? (
        <p className="quiet">{say('decide.none')}</p>
      ) : (
        <ol className="steps-chosen">
          {steps.map((s, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: the same act may stand twice
            <li key={i}>
              <span>{words(s)}</span>
              <button
                type="button"
                className="drop"
                aria-label={say('decide.drop', { step: words(s) })}
                onClick={() => setSteps(steps.filter((_, k) => k !== i))}
              >
                ×
              </button>
            </li>
          ))}
        </ol>
      )}
      <div className="field">
        <label htmlFor="step-kind">{say('decide.step')}</label>
        <select id="step-kind" value={kind} onChange={(e) => setKind(e.target.value)}>
          {kinds.map((k) => (
            <option key={k} value={k}>
              {say(`step.${k}`)}
            </option>
          ))}
        </select>
      </div>
      {withPart.has(kind) ? (
        <div className="field">
          <label htmlFor="step-part">{say('decide.part')}</label>
          <select id="step-part" value={part} onChange={(e) => setPart(e.target.value as Part)}>
            {parts.map((x) => (
              <option key={x} value={x}>
                {say(`part.${x}` as Key)}
              </option>
            ))}
          </select>
        </div>
      ) : null}
      <Tile onClick={() => setSteps([...steps, withPart.has(kind) ? { kind, part } : { kind }])}>
        {say('decide.add')}
      </Tile>
      <Link icon="undo" onClick={onBack}>
        {say('decide.verdict')}
      </Link>
    </Frame>
  );
}
