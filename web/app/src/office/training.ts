import type { BodyOf, Schemas } from '../shared/api.ts';
import type { Named } from './data.ts';
import type { Body, Field } from './parts/Input.tsx';
import { say } from './words.ts';

const named = (things: Named[]) => things.map((t) => ({ value: t.id, word: t.name }));
const here = (people: Named<'person'>[]) => named(people.filter((p) => !p.body.left));
const months = () => say('curricula.monthsUnit');

export const likes = ['plants_seen', 'small_felt', 'water_seen'] as const;
export const likeWord = (like: string) => {
  const known = likes.find((l) => l === like);
  return known ? say(`trials.like.${known}`) : like;
};

/** What is asked of an object that is registered. The class of craft only chooses which places are offered. */
export function plantFields(
  classes: Schemas['CraftClassRow'][],
  places: Schemas['PlaceOfCraft'][],
  people: Named<'person'>[],
): Field[] {
  const none = say('trials.choose');
  return [
    { path: 'object', word: say('trials.object'), kind: 'text', required: true },
    {
      path: 'like',
      word: say('trials.like'),
      kind: 'choice',
      required: true,
      none,
      options: likes.map((value) => ({ value, word: likeWord(value) })),
    },
    {
      path: 'class',
      word: say('trials.class'),
      kind: 'choice',
      required: true,
      none,
      options: classes.map((c) => ({ value: c.id, word: c.name })),
    },
    {
      path: 'place',
      word: say('trials.place'),
      kind: 'choice',
      required: true,
      none,
      options: places.map((p) => ({ value: p.id, word: p.name })),
      hint: say('trials.placeHint'),
    },
    { path: 'steward', word: say('trials.steward'), kind: 'choice', required: true, none, options: here(people) },
    { path: 'plantedAt', word: say('trials.plantedAt'), kind: 'moment', hint: say('trials.plantedAtHint') },
  ];
}

/** What is asked of an object that is back. */
export function closeFields(craft: { value: string; word: string }[]): Field[] {
  return [
    { path: 'retrievedAt', word: say('trials.retrievedAt'), kind: 'moment', required: true },
    {
      path: 'found',
      word: say('trials.found'),
      kind: 'choice',
      none: say('trials.asRecorded'),
      options: (['yes', 'no'] as const).map((value) => ({ value, word: say(`word.${value}`) })),
      hint: say('trials.foundHint'),
    },
    {
      path: 'encounter',
      word: say('trials.encounter'),
      kind: 'choice',
      none: say('trials.first'),
      options: craft,
      hint: say('trials.encounterHint'),
    },
    { path: 'seconds', word: say('trials.seconds'), unit: 's', kind: 'number' },
  ];
}

const parts = ['reading', 'drills', 'observed'] as const;

/** A part asks only for what its kind needs. */
function partFields(part: Body): Field[] {
  const common: Field[] = [
    { path: 'name', word: say('curricula.part'), kind: 'text', required: true },
    {
      path: 'what',
      word: say('curricula.what'),
      kind: 'choice',
      required: true,
      none: say('trials.choose'),
      options: parts.map((value) => ({ value, word: say(`curricula.${value}`) })),
    },
  ];
  const own: Record<string, Field[]> = {
    reading: [{ path: 'pages', word: say('curricula.pages'), kind: 'lines', hint: say('rules.form.oneALine') }],
    drills: [
      { path: 'drills', word: say('curricula.inRow'), kind: 'number', required: true },
      {
        path: 'difficulty',
        word: say('curricula.difficulty'),
        kind: 'choice',
        none: say('curricula.any'),
        options: ['1', '2', '3', '4', '5'].map((value) => ({ value, word: value })),
        hint: say('curricula.difficultyHint'),
      },
      { path: 'score', word: say('curricula.score'), kind: 'number', hint: say('curricula.scoreHint') },
    ],
    observed: [{ path: 'boats', word: say('curricula.boats'), kind: 'number', required: true }],
  };
  return [
    ...common,
    ...(own[String(part.what)] ?? []),
    { path: 'months', word: say('curricula.again'), unit: months(), kind: 'number', hint: say('curricula.againHint') },
    { path: 'words', word: say('curricula.partWords'), kind: 'text' },
  ];
}

/** A part in words. */
function partLine(row: Body): string {
  const p = row as unknown as BodyOf<'curriculum'>['parts'][number];
  const what = {
    reading: () => say('curricula.lineReading', { pages: (p.pages ?? []).join(', ') || '–' }),
    drills: () =>
      say('curricula.lineDrills', { n: p.drills ?? 0, difficulty: p.difficulty || '1', score: p.score ?? 0 }),
    observed: () => say('curricula.lineObserved', { n: p.boats ?? 0 }),
  }[p.what as (typeof parts)[number]]?.();
  const again = p.months ? say('curricula.lineAgain', { n: p.months }) : '';
  return [`${p.name}:`, what, again, p.words].filter(Boolean).join(' ');
}

const purposes = ['inspect', 'wash', 'train'].map((value) => ({ value, word: value }));

export function curriculumFields(): Field[] {
  return [
    { path: 'name', word: say('field.name'), kind: 'text', required: true },
    {
      path: 'for',
      word: say('curricula.for'),
      kind: 'choice',
      required: true,
      none: say('trials.choose'),
      options: purposes,
    },
    { path: 'months', word: say('curricula.months'), unit: months(), kind: 'number', required: true },
    { path: 'words', word: say('curricula.words'), kind: 'long' },
    { path: 'parts', word: say('curricula.parts'), kind: 'rows', of: partFields, line: partLine },
  ];
}

/** What is asked when somebody is certified for a curriculum or a part of it. */
export function certificateFields(people: Named<'person'>[], curriculum: BodyOf<'curriculum'>): Field[] {
  return [
    {
      path: 'person',
      word: say('curricula.person'),
      kind: 'choice',
      required: true,
      none: say('trials.choose'),
      options: here(people),
    },
    {
      path: 'part',
      word: say('curricula.which'),
      kind: 'choice',
      required: true,
      none: say('curricula.whole'),
      options: (curriculum.parts ?? []).map((p) => ({ value: p.name, word: p.name })),
    },
    { path: 'from', word: say('curricula.from'), kind: 'date', required: true },
    { path: 'expires', word: say('curricula.until'), kind: 'date', required: true },
    { path: 'by', word: say('curricula.by'), kind: 'text', required: true },
    { path: 'evidence', word: say('curricula.evidence'), kind: 'lines', hint: say('curricula.evidenceHint') },
  ];
}

/** The day so many months after a day, both as midnights in UTC, which is how certificates are kept. */
export function monthsAfter(day: string, n: number): string {
  const at = new Date(day);
  const last = new Date(Date.UTC(at.getUTCFullYear(), at.getUTCMonth() + n + 1, 0)).getUTCDate();
  return new Date(Date.UTC(at.getUTCFullYear(), at.getUTCMonth() + n, Math.min(at.getUTCDate(), last))).toISOString();
}
