import { say, type Word } from '../words.ts';

/**
 * An outcome in a table: its word on its plate, with the plate's edge pattern, so that colour says nothing alone. What a
 * refused craft left with says both: that the boater declined, and what that counts as.
 */
export function Outcome({ of, refused }: { of: string | undefined; refused?: boolean | undefined }) {
  const known = of && ['launch', 'fix_here', 'wash', 'dry', 'hold'].includes(of);
  const word = say(known ? (`outcome.${of}` as Word) : 'outcome.none');
  return (
    <span className={`outcome ${known ? `on-paper ${of}` : 'none'}`}>
      {refused ? say('outcome.refused', { outcome: word.toLowerCase() }) : word}
    </span>
  );
}
