import { type ReactNode, useState } from 'react';
import { type Key, useSay } from '../messages/index.tsx';
import { Words } from '../parts/Field.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';
import { Frame } from './Frame.tsx';

/** The shortest reason that says anything. */
const LEAST = 3;

/** Asks for a reason: one tap on a usual one, or a few words of one's own. */
export function Why({
  at,
  title,
  reasons,
  across = 2,
  save = 'unchecked.saveOther',
  onPick,
  onBack,
  children,
}: {
  at: string;
  title: Key;
  reasons: readonly Key[];
  across?: 1 | 2;
  /** What the tile says that keeps a reason in one's own words. */
  save?: Key;
  /** The reason in words; its key where it is a usual one. */
  onPick: (why: string, key?: Key) => void;
  onBack: () => void;
  children: ReactNode;
}) {
  const say = useSay();
  const [other, setOther] = useState('');
  return (
    <Frame
      leave={onBack}
      at={at}
      acts={
        <Tiles>
          <Tile icon="undo" onClick={onBack}>
            {say('walk.back')}
          </Tile>
          <Tile disabled={other.trim().length < LEAST} onClick={() => onPick(other.trim())}>
            {say(save)}
          </Tile>
        </Tiles>
      }
    >
      <h1>{say(title)}</h1>
      {children}
      <Tiles across={across}>
        {reasons.map((k) => (
          <Tile key={k} onClick={() => onPick(say(k), k)}>
            {say(k)}
          </Tile>
        ))}
      </Tiles>
      <Words id="why-other" label={say('unchecked.other')} most={300} value={other} onChange={setOther} />
    </Frame>
  );
}
