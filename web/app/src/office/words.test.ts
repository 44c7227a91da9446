import { describe, expect, test } from 'vitest';
import { names, parse } from '../messages/format.ts';
import { en, say } from './words.ts';

describe('the words of the office', () => {
  test('each can be filled in, and none has a gap that nothing fills', () => {
    for (const [word, text] of Object.entries(en)) {
      expect(() => parse(text), word).not.toThrow();
      expect(names(text).length > 0, word).toBe(/\{\w/.test(text));
    }
  });

  test('what is counted has the form of its number', () => {
    expect(say('ledger.end', { n: 0 })).toBe('None fits.');
    expect(say('ledger.end', { n: 1 })).toBe('The one that fits is here.');
    expect(say('ledger.end', { n: 12345 })).toBe('All 12,345 that fit are here.');
    expect(say('rules.days', { n: 1 })).toBe('1 day');
    expect(say('plan.crew', { n: 2 })).toBe('2 people');
  });
});
