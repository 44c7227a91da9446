import { boater } from './boater.ts';

/** French: what boaters read. The steward's own screens fall back to English. */
export const fr = boater.fr;
