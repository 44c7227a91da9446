import { say, type Word } from '../words.ts';

/** An outcome in a table: its word on its plate, with the plate's edge pattern, so that colour says nothing alone. */
export function Outcome({ of }: { of: string | undefined }) {
  const known = of && ['launch', 'fix_here', 'wash', 'dry', 'hold'].includes(of);
  return (
    <span className={`outcome ${known ? `on-paper ${of}` : 'none'}`}>
      {say(known ? (`outcome.${of}` as Word) : 'outcome.none')}
    </span>
  );
}
