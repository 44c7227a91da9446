import { boater } from './boater.ts';

/** Spanish: what boaters read. The steward's own screens fall back to English. */
export const es = boater.es;
