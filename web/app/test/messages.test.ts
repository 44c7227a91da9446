import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { boater } from '../src/messages/boater.ts';
import { en } from '../src/messages/en.ts';
import { bookWith } from '../src/messages/engine.ts';
import { names, parse, pseudo } from '../src/messages/format.ts';

test('every message can be read, in the false language too', () => {
  for (const text of Object.values(en)) {
    expect(() => parse(text)).not.toThrow();
    expect(names(pseudo(text))).toEqual(names(text));
  }
});

test('a translation asks for the same values as the English', () => {
  for (const book of [boater.es, boater.fr]) {
    for (const [key, text] of Object.entries(boater.en))
      expect(names(book[key as keyof typeof book])).toEqual(names(text));
  }
});

/** What the engine says: the list that is made from its source, and the translations there are. */
const folder = new URL('../src/messages/', import.meta.url);
const read = (name: string) => JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
const said: readonly { text: string; at: readonly string[] }[] = read('engine.en.json');

test('every message of the engine can be read and stands once', () => {
  for (const { text, at } of said) {
    expect(() => parse(text), text).not.toThrow();
    expect(at.length).toBeGreaterThan(0);
  }
  expect(new Set(said.map((m) => m.text)).size).toBe(said.length);
});

/** What is wrong with a translation of the engine's messages. */
function faults(words: Record<string, string>): string[] {
  const english = new Set(said.map((m) => m.text));
  return Object.entries(words).flatMap(([text, word]) => {
    if (!english.has(text)) return [`the engine does not say: ${text}`];
    try {
      const asks = new Set(names(text));
      return names(word).every((n) => asks.has(n)) ? [] : [`names a value that is not there: ${word}`];
    } catch (e) {
      return [String(e)];
    }
  });
}

test('a translation of the engine says only what the engine says, with its values', () => {
  for (const name of readdirSync(folder).filter((f) => /^engine\.(?!en\.).*\.json$/.test(f)))
    expect(faults(read(name)), name).toEqual([]);
  expect(faults({ '{n} passes': 'x', '{n} days': '{n, plural, one {# día} other {# días}}' })).toEqual([
    'the engine does not say: {n} passes',
  ]);
  expect(faults({ '{n} days': '{m} días', '{n} h': '{n' })).toEqual([
    'names a value that is not there: {m} días',
    'Error: a brace is not closed in the message: {n',
  ]);
});

test('the engine gets the plural forms and the decimal mark of the browser', () => {
  // Forms by Unicode CLDR 44.
  const { whole, broken, decimal } = bookWith('pl', {});
  expect([0, 1, 2, 5, 12, 22, 112, 122].map((n) => whole?.[n])).toEqual([
    'many',
    'one',
    'few',
    'many',
    'many',
    'few',
    'many',
    'few',
  ]);
  expect([broken?.[1], decimal]).toEqual(['other', ',']);
  const fr = bookWith('fr', { a: 'b' });
  expect([fr.whole?.[0], fr.broken?.[1], fr.broken?.[2], fr.words]).toEqual(['one', 'one', 'other', { a: 'b' }]);
  expect(bookWith('en', {})).toMatchObject({ decimal: '.' });
});

test('sentences are short and spare the reader the usual words', () => {
  for (const [key, text] of Object.entries(en)) {
    for (const sentence of text.replace(/\{[^}]*\}/g, 'x').split(/[.!?:;]\s/)) {
      expect(sentence.split(/\s+/).length, `${key}: ${sentence}`).toBeLessThanOrEqual(20);
    }
    expect(text, key).not.toMatch(/\b(oops|please|invalid|submit(ted)?|sorry)\b/i);
  }
});

/** Words between tags, or in an attribute that is read out. A message's key has a dot in it and no blank. */
const words = [
  />\s*([^<>{}=;()]*[A-Za-z]{3,}[^<>{}=;()]*?)\s*<\//g,
  /\b(?:aria-label|alt|label|name|placeholder|title)="([^"]*[A-Za-z][^"]* [^"]*)"/g,
];

test('the screens of the phone hold no words of their own', () => {
  const own = ['phone', 'ramp', 'parts', 'practice'].flatMap((folder) => {
    const at = new URL(`../src/${folder}/`, import.meta.url);
    return readdirSync(at)
      .filter((name) => name.endsWith('.tsx'))
      .flatMap((name) => {
        const text = readFileSync(new URL(name, at), 'utf8');
        return words.flatMap((w) => [...text.matchAll(w)].map((m) => `${folder}/${name}: ${m[1]}`));
      });
  });
  expect(own).toEqual(['phone/SetUp.tsx: Thwart Ramp']);
});

test('what decides, keeps and sends has no sentences of its own either', () => {
  const sentence = /(['"`])([A-Z][^'"`\n]* [^'"`\n]*\.|[A-Z][a-z ]+: [^'"`\n]*)\1/g;
  const own = ['phone', 'ramp', 'parts', 'practice', 'sync', 'local'].flatMap((folder) => {
    const at = new URL(`../src/${folder}/`, import.meta.url);
    return readdirSync(at)
      .filter((name) => name.endsWith('.ts'))
      .flatMap((name) =>
        [...readFileSync(new URL(name, at), 'utf8').matchAll(sentence)].map((m) => `${folder}/${name}: ${m[2]}`),
      );
  });
  expect(own).toEqual([]);
});
