import { useState } from 'react';
import type { SheetOut } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Tile } from '../parts/Tiles.tsx';
import { Frame } from './Frame.tsx';
import { KeyInBoat } from './KeyInBoat.tsx';
import { KeyInTally } from './KeyInTally.tsx';
import { KeyInWash } from './KeyInWash.tsx';
import { Field, textInput } from './keying.tsx';
import { back } from './route.ts';
import { call, useRamp } from './state.tsx';

/** A sheet is known by its number, which the engine checks; the number says which form it is. */
export function KeyIn() {
  const say = useSay();
  const { shift } = useRamp();
  const [text, setText] = useState('');
  const [wrong, setWrong] = useState('');
  const [sheet, setSheet] = useState<SheetOut>();
  const [told, setTold] = useState('');

  const look = async () => {
    try {
      setSheet(await call('sheet', { text }));
      setWrong('');
    } catch {
      setWrong(say('key.slip', { given: text.trim() }));
    }
  };
  if (sheet) {
    const Form = { B: KeyInBoat, T: KeyInTally, W: KeyInWash }[sheet.form as 'B' | 'T' | 'W'];
    const kept = () => {
      setTold(say('key.kept', { serial: sheet.number }));
      setSheet(undefined);
      setText('');
    };
    return <Form key={sheet.number} number={sheet.number} onKept={kept} />;
  }
  return (
    <Frame
      at="number"
      acts={
        <>
          <Tile icon="undo" onClick={back}>
            {say('walk.back')}
          </Tile>
          <Go disabled={!text.trim() || !shift} onClick={look}>
            {say('key.begin')}
          </Go>
        </>
      }
    >
      <h1>{say('home.paper')}</h1>
      <p role="status">{told}</p>
      <p>{say(shift ? 'key.how' : 'key.noShift')}</p>
      <Field n={1} name="serial">
        {textInput(14)('key-serial', text, (v) => {
          setText(v);
          setWrong('');
        })}
      </Field>
      <p role="alert" className="wrong">
        {wrong}
      </p>
    </Frame>
  );
}
