import type { Book } from '../engine/types.ts';
import { type Language, localeOf } from './index.tsx';

type Words = Readonly<Record<string, string>>;
type File = () => Promise<{ readonly default: Words }>;

/**
 * What the engine says, in other languages: a file for each that has one, `engine.es.json` for Spanish, with the English of
 * `engine.en.json` as keys. A language without a file hears the engine in English.
 */
const files = import.meta.glob<{ readonly default: Words }>(['./engine.*.json', '!./engine.en.json']) as Record<
  string,
  File
>;

/** The language in which the engine speaks where the screens speak another one. */
export function spokenIn(language: Language): Language {
  return `./engine.${language}.json` in files ? language : 'en';
}

/** What the engine needs to speak a language as the screens do: its words, its decimal mark, its plural forms. */
export async function bookOf(language: Language): Promise<Book> {
  const file = files[`./engine.${language}.json`];
  return file ? bookWith(localeOf(language), (await file()).default) : { words: {} };
}

/** The rules are the browser's own: the form of each number from 0 to 199, and of one between it and the next. */
export function bookWith(locale: string, words: Words): Book {
  const rules = new Intl.PluralRules(locale);
  const to199 = Array.from({ length: 200 }, (_, n) => n);
  const decimal = new Intl.NumberFormat(locale).formatToParts(1.5).find((p) => p.type === 'decimal')?.value;
  return {
    words,
    whole: to199.map((n) => rules.select(n)),
    broken: to199.map((n) => rules.select(n + 0.5)),
    ...(decimal ? { decimal } : {}),
  };
}
