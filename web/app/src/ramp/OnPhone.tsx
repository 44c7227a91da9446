import { useSay } from '../messages/index.tsx';
import { Go } from '../parts/Tiles.tsx';
import { Kept } from '../phone/index.ts';
import { sync } from '../sync/index.ts';
import { Frame } from './Frame.tsx';

/** What is kept where, what waits, and what needs a person. */
export function StateScreen() {
  const say = useSay();
  return (
    <Frame acts={<Go onClick={() => sync.pass(true)}>{say('state.sendNow')}</Go>}>
      <Kept />
    </Frame>
  );
}
