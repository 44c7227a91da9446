import { expect, test } from 'vitest';
import { format, names, pseudo } from './format.ts';

test('plurals follow the rules of the language', () => {
  const boats = '{n, plural, =0 {no boats} one {# boat} other {# boats}} at {place}';
  expect(format('en', boats, { n: 0, place: 'Alder Point' })).toBe('no boats at Alder Point');
  expect(format('en', boats, { n: 1, place: 'Alder Point' })).toBe('1 boat at Alder Point');
  expect(format('en', boats, { n: 1200, place: 'Alder Point' })).toBe('1,200 boats at Alder Point');
  // French counts 0 and 1.5 as one (CLDR plural rules).
  expect(format('fr', '{n, plural, one {# bateau} other {# bateaux}}', { n: 0 })).toBe('0 bateau');
  expect(format('fr', '{n, plural, one {# bateau} other {# bateaux}}', { n: 1.5 })).toBe('1,5 bateau');
});

test('a choice of words, nested', () => {
  const m = '{side, select, port {{n, plural, one {# place} other {# places}} to port} other {elsewhere}}';
  expect(format('en', m, { side: 'port', n: 2 })).toBe('2 places to port');
  expect(format('en', m, { side: 'bow', n: 2 })).toBe('elsewhere');
});

test('what is missing or broken is an error, not half a sentence', () => {
  expect(() => format('en', 'Wait until {time}', {})).toThrow(/time/);
  expect(() => format('en', 'Wait until {time', { time: 1 })).toThrow(/not closed/);
  expect(() => format('en', '{n, plural, one {#}}', { n: 1 })).toThrow(/other/);
  expect(() => format('en', 'a } b')).toThrow(/too many/);
});

test('the names a message asks for', () => {
  expect(names('{b} {n, plural, one {{a}} other {#}}')).toEqual(['a', 'b', 'n']);
});

test('the false language is longer and keeps the braces', () => {
  const p = pseudo('Wait until {time} here');
  expect(p.length).toBeGreaterThan(22 * 1.3);
  expect(names(p)).toEqual(['time']);
});
