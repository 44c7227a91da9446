import { amounts, type Units } from '../shared/units.ts';
import { differences } from './difference.ts';
import type { Body, Field } from './parts/Input.tsx';
import { protocolBeyond, protocolRows, protocolSections, rowsBeyond } from './protocols.ts';
import { plain } from './records.ts';
import { say } from './words.ts';

/** What stands in an edition at one place, in words: one value, or several under each other. */
export type Shown = string | string[];

/** One place where two editions differ, in the words of the form. */
export interface EditionDifference {
  /** Where it stands in the record. */
  path: string;
  /** The part of the form it belongs to; empty where the form has no such part. */
  part: string;
  label: string;
  /** Whether the programme has words for this place; where it has none, its name in the record stands for them. */
  known: boolean;
  before: Shown;
  after: Shown;
}

interface Place {
  field: Field;
  part: string;
}

/** The places of an edition that have words, in the order of the form; then those that only its JSON can set. */
function places(): Place[] {
  return [
    ...protocolSections().flatMap((s) => s.fields.map((field) => ({ field, part: s.legend }))),
    ...protocolRows().map((field) => ({ field, part: field.word })),
    ...protocolBeyond().map((field) => ({ field, part: field.kind === 'rows' ? field.word : '' })),
  ];
}

const isBody = (v: unknown): v is Body => typeof v === 'object' && v !== null && !Array.isArray(v);
const bodies = (v: unknown): v is Body[] => Array.isArray(v) && v.length > 0 && v.every(isBody);
const absent = (v: unknown) => v === undefined || v === null || v === '' || (Array.isArray(v) && v.length === 0);
const equal = (a: unknown, b: unknown) => (absent(a) && absent(b)) || differences(a, b).length === 0;

/** The name of a place that has no words: its own in the record, its capitals as words. */
const readable = (key: string) => {
  const spaced = plain(key)
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .toLowerCase();
  return spaced.charAt(0).toUpperCase() + spaced.slice(1);
};

/** Lists where two editions differ, in the words and the order of the form. Lines of a list are matched by what they are for. */
export function editionDifferences(before: Body, after: Body, units: Units): EditionDifference[] {
  const all = places();
  const known = new Map(all.map((p) => [p.field.path, p]));
  const top = new Set([...all.map((p) => p.field.path.split('.')[0] ?? ''), ...keysOf(before, after)]);
  const found = [...top]
    .filter((key) => key !== '$schema')
    .flatMap((key) => walk(before[key], after[key], key, known, units));
  const order = all.map((p) => p.field.path);
  const rank = (d: EditionDifference) => {
    const at = order.findIndex((path) => d.path === path || d.path.startsWith(`${path}[`));
    return at < 0 ? order.length : at;
  };
  return found.sort((a, b) => rank(a) - rank(b));
}

const keysOf = (...sides: unknown[]) => [...new Set(sides.flatMap((s) => (isBody(s) ? Object.keys(s) : [])))];

function walk(a: unknown, b: unknown, path: string, known: Map<string, Place>, units: Units): EditionDifference[] {
  if (equal(a, b)) return [];
  const place = known.get(path);
  if ((place?.field.kind === 'rows' || bodies(a) || bodies(b)) && [a, b].every((v) => absent(v) || bodies(v)))
    return lines((a ?? []) as Body[], (b ?? []) as Body[], path, place, units);
  if (place) {
    return [{ path, part: place.part, label: place.field.word, known: true, ...both(place.field, a, b, units) }];
  }
  if ((isBody(a) || isBody(b)) && [a, b].every((v) => absent(v) || isBody(v)))
    return keysOf(a, b).flatMap((key) => walk((a as Body)?.[key], (b as Body)?.[key], `${path}.${key}`, known, units));
  const dot = path.lastIndexOf('.');
  const [parent, key] = [dot < 0 ? '' : path.slice(0, dot), path.slice(dot + 1)];
  if (parent === 'words') {
    const label = say('rules.form.ownWord', { what: plain(key) });
    return [{ path, part: '', label, known: true, ...both(undefined, a, b, units) }];
  }
  return [
    { path, part: parent && readable(parent), label: readable(key), known: false, ...both(undefined, a, b, units) },
  ];
}

/** What a line of a list is for, by which the same line is found in the other edition. */
function lineName(path: string, row: Body): string {
  const said = (key: string) => (typeof row[key] === 'string' ? plain(row[key]) : '');
  switch (path) {
    case 'wash':
      return [said('part'), row.risk ? say('rules.form.riskOf', { risk: said('risk') }) : '']
        .filter(Boolean)
        .join(', ');
    case 'dry':
      return said('profile');
    case 'always':
      return said('when');
    case 'powers':
      return said('act');
    case 'testedDrying':
      return [said('organism'), said('stage')].filter(Boolean).join(', ');
    case 'chemicals':
      return said('agent');
    default:
      return '';
  }
}

function named(path: string, rows: Body[]): Map<string, Body> {
  const out = new Map<string, Body>();
  rows.forEach((row, i) => {
    const name = lineName(path, row) || say('rules.form.row', { n: i + 1 });
    let free = name;
    for (let n = 2; out.has(free); n++) free = `${name} (${n})`;
    out.set(free, row);
  });
  return out;
}

function lines(before: Body[], after: Body[], path: string, place: Place | undefined, units: Units) {
  const [a, b] = [named(path, before), named(path, after)];
  const part = place?.part ?? readable(path.slice(path.lastIndexOf('.') + 1));
  const known = place !== undefined;
  const out: EditionDifference[] = [];
  for (const name of new Set([...a.keys(), ...b.keys()])) {
    const [one, other] = [a.get(name), b.get(name)];
    const at = `${path}[${(other ? [...b.keys()] : [...a.keys()]).indexOf(name)}]`;
    const fields = [...(place?.field.of?.(other ?? one ?? {}) ?? []), ...rowsBeyond(path)];
    if (!one || !other) {
      out.push({
        path: at,
        part,
        label: name,
        known,
        before: whole(one, fields, units),
        after: whole(other, fields, units),
      });
      continue;
    }
    const differ = fieldsOf(fields, one, other).filter(({ key }) => !equal(one[key], other[key]));
    const side = (row: Body) => differ.map(({ key, field, word }) => `${word}: ${flat(shown(field, row[key], units))}`);
    if (differ.length)
      out.push({
        path: at,
        part,
        label: name,
        known: known && differ.every((d) => d.field),
        before: side(one),
        after: side(other),
      });
  }
  const shared = (of: Map<string, Body>) => [...of.keys()].filter((name) => a.has(name) && b.has(name));
  if (!equal(shared(a), shared(b)))
    out.push({ path, part, label: say('rules.form.lineOrder'), known, before: shared(a), after: shared(b) });
  return out;
}

/** What two lines hold: the fields of the form in its order, then whatever else stands in either. */
function fieldsOf(fields: Field[], ...rows: Body[]) {
  const known = fields.map((field) => ({ key: field.path, field: field as Field | undefined, word: field.word }));
  const more = keysOf(...rows).filter((key) => !fields.some((f) => f.path === key));
  return [...known, ...more.map((key) => ({ key, field: undefined, word: readable(key) }))];
}

function whole(row: Body | undefined, fields: Field[], units: Units): Shown {
  if (!row) return say('rules.form.noLine');
  return fieldsOf(fields, row)
    .filter(({ key }) => !absent(row[key]) && row[key] !== false)
    .map(({ key, field, word }) => `${word}: ${flat(shown(field, row[key], units))}`);
}

const flat = (of: Shown) => (typeof of === 'string' ? of : of.join('; '));

function both(field: Field | undefined, a: unknown, b: unknown, units: Units): { before: Shown; after: Shown } {
  const lists = [a, b].every((v) => absent(v) || (Array.isArray(v) && v.every((x) => !isBody(x))));
  if (field?.kind === 'lines' && lists) {
    // Long lists are told by what is only in one of them; how many are in both is said, so that nothing seems to be missing.
    const [one, other] = [(a ?? []) as unknown[], (b ?? []) as unknown[]];
    const inBoth = one.filter((x) => other.includes(x)).length;
    const only = (list: unknown[], than: unknown[]): Shown => [
      ...list.filter((x) => !than.includes(x)).map((x) => single(field, x, units)),
      ...(inBoth ? [say('rules.form.inBoth', { n: inBoth })] : []),
      ...(list.length === 0 ? [say('rules.form.unsaid')] : []),
    ];
    if (one.some((x) => !other.includes(x)) || other.some((x) => !one.includes(x)))
      return { before: only(one, other), after: only(other, one) };
  }
  return { before: shown(field, a, units), after: shown(field, b, units) };
}

/** One value in words. */
export function shown(field: Field | undefined, value: unknown, units: Units): Shown {
  if (absent(value)) return field?.kind === 'tick' ? say('word.no') : say('rules.form.unsaid');
  if (Array.isArray(value)) {
    const all = value.map((v) => single(field, v, units));
    return field?.kind === 'lines' ? all : all.join(', ');
  }
  return single(field, value, units);
}

function single(field: Field | undefined, value: unknown, units: Units): string {
  if (typeof value === 'boolean') return say(value ? 'word.yes' : 'word.no');
  if (Array.isArray(value)) return value.map((v) => single(undefined, v, units)).join(', ');
  if (isBody(value))
    return Object.entries(value)
      .map(([key, v]) => `${readable(key)}: ${single(undefined, v, units)}`)
      .join('; ');
  const chosen = field?.options?.find((o) => o.value === String(value));
  if (chosen) return chosen.word;
  if (typeof value === 'number') return amount(value, field?.unit, units, field?.path);
  return field?.vocabulary ? plain(String(value)) : String(value);
}

const exact = (n: number) => n.toLocaleString('en', { maximumFractionDigits: 6 });

/**
 * A number with its unit as the programme shows it. What a reader sees in another unit than the form asks for is followed by
 * the form's own, to the last digit: a difference never disappears in rounding.
 */
export function amount(n: number, unit: string | undefined, units: Units, path = ''): string {
  const own = unit ? `${exact(n)}\u00a0${unit}` : exact(n);
  const us = amounts('us', 'en');
  switch (unit) {
    case '°C':
      return units === 'us' ? `${us.temp(n)} (${own})` : own;
    case 'bar':
      return units === 'us' ? `${us.pressure(n)} (${own})` : own;
    case 's':
      return n >= 60 ? `${span(n)} (${own})` : own;
    case say('rules.form.days').toLowerCase():
      return n === 0 && path === 'lookBackDays' ? say('rules.forEver') : say('rules.days', { n });
    default:
      return own;
  }
}

function span(seconds: number): string {
  const [h, min, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  return [h && `${h}\u00a0h`, min && `${min}\u00a0min`, s && `${exact(s)}\u00a0s`].filter(Boolean).join(' ');
}
