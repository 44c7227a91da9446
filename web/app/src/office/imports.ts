import type { Schemas } from '../shared/api.ts';

export type Mapping = Schemas['Mapping'];
export type Report = Schemas['ImportReport'];

/** Which field a heading is mapped to. */
export function fieldOf(m: Mapping, heading: string): string {
  return Object.entries(m.columns).find(([, h]) => h === heading)?.[0] ?? '';
}

/**
 * The mapping with a heading taken for another field, or for none. A field has one column: whichever had it before is not read
 * any more. A heading that is not read was looked at, and is listed as such.
 */
export function mapped(m: Mapping, heading: string, field: string): Mapping {
  const kept = Object.entries(m.columns).filter(([f, h]) => h !== heading && f !== field);
  const columns = Object.fromEntries(field ? [...kept, [field, heading]] : kept);
  const ignored = (m.ignore ?? []).filter((h) => h !== heading);
  return { ...m, columns, ignore: field ? ignored : [...ignored, heading] };
}

type NameKind = 'waters' | 'launches' | 'people';

/** The mapping with a name decided: the id it stands for, nothing to leave it out, or undefined to decide later. */
export function named(m: Mapping, kind: string, name: string, id: string | undefined): Mapping {
  const at = kind as NameKind;
  const { [name]: _, ...others } = m[at] ?? {};
  return { ...m, [at]: id === undefined ? others : { ...others, [name]: id } };
}

export function idOf(m: Mapping, kind: string, name: string): string | undefined {
  return m[kind as NameKind]?.[name];
}

const gravity = ['refused', 'duplicate', 'left_out', 'look'];

/** Lines of a report with the gravest first, in the order of the rows. */
export const byGravity = (lines: readonly Schemas['Line'][]): Schemas['Line'][] =>
  [...lines].sort((a, b) => gravity.indexOf(a.level) - gravity.indexOf(b.level) || a.row - b.row);
