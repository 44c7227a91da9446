import { useState } from 'react';
import type { Outcome } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Choose, Words } from '../parts/Field.tsx';
import { PlateGlyph, plateKind } from '../parts/Plate.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { choicesOf } from './names.ts';
import { go } from './route.ts';
import { useRamp } from './state.tsx';
import { useJudgement } from './VerdictScreen.tsx';

/** A person departs from the computed verdict: with a reason, and from a hold only with a second person. */
export function OverrideScreen({ boat }: { boat: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const { value: judged } = useJudgement(boat);
  const [outcome, setOutcome] = useState<Outcome | ''>('');
  const [why, setWhy] = useState('');
  const [second, setSecond] = useState('');
  const computed = judged?.verdict.outcome ?? 'hold';
  const outcomes = ramp.library?.outcomes ?? [];
  const rank = (o: string) => outcomes.findIndex((x) => x.id === o);
  const needsSecond = computed === 'hold' && outcome !== '' && rank(outcome) < rank('hold');
  const others = ramp.people.filter((p) => p.subject !== ramp.me && !p.body.left);
  const ready = outcome !== '' && why.trim().length > 2 && (!needsSecond || second !== '');
  const save = async () => {
    if (outcome === '') return;
    const override = { outcome, by: ramp.me, why: why.trim(), ...(needsSecond ? { second } : {}) };
    if (await ramp.act(boat.id, { do: 'override', override })) go('boat', boat.id);
  };
  return (
    <Frame
      leave={() => go('boat', boat.id)}
      at="override"
      acts={
        <Go disabled={!ready} onClick={save}>
          {say('override.save')}
        </Go>
      }
    >
      <h1>{say('override.title')}</h1>
      <p>{say('override.computed', { word: judged?.then ?? '' })}</p>
      <Tiles>
        {outcomes.map((o) => (
          <Tile key={o.id} pressed={outcome === o.id} disabled={o.id === computed} onClick={() => setOutcome(o.id)}>
            <PlateGlyph kind={plateKind(o.id)} /> {o.plate}
          </Tile>
        ))}
      </Tiles>
      <Words id="override-why" label={say('override.why')} most={500} rows={3} value={why} onChange={setWhy} />
      {needsSecond ? (
        <Choose
          id="override-second"
          label={say('override.second')}
          value={second}
          none={say('override.choose')}
          among={choicesOf(others)}
          onPick={setSecond}
        />
      ) : null}
    </Frame>
  );
}
