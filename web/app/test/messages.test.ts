import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { boater } from '../src/messages/boater.ts';
import { en } from '../src/messages/en.ts';
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
