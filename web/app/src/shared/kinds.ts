import type { Class } from '../engine/types.ts';

/** So many kinds stand on the first screen; the others are one tap away. */
export const FIRST_KINDS = 6;

/** What comes to most launches, commonest first (common practice, no source). */
const commonest = [
  'canoe_kayak',
  'open_aluminium_fishing',
  'runabout',
  'pontoon',
  'bass_boat',
  'wake_boat',
  'personal_watercraft',
];

/**
 * Kinds of craft in the order in which they stand to be tapped: the commonest, then the library's order. It is the same on every phone and
 * every day, and what came in lately does not move it: a thumb goes where the picture was the last time, without a look and in the wet. An
 * order by what this phone met would also begin anew with each shift, since its boats leave it when the shift closes.
 */
export function kindsInOrder(classes: readonly Class[]): Class[] {
  const rank = (c: Class) => (commonest.includes(c.id) ? commonest.indexOf(c.id) : commonest.length);
  return [...classes].sort((a, b) => rank(a) - rank(b));
}
