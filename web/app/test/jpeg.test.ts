import { expect, test } from 'vitest';
import { bare } from '../src/local/jpeg.ts';

const seg = (kind: number, ...body: number[]) => [0xff, kind, 0, body.length + 2, ...body];

test('tags, profiles and comments go; tables, the plain header and pixels stay', () => {
  const head = seg(0xe0, 1, 2, 3);
  const table = seg(0xdb, 9, 9);
  const pixels = [...seg(0xda, 5), 1, 2, 0xff, 0, 3, 0xff, 0xd9];
  const whole = [0xff, 0xd8, ...head, ...seg(0xe1, 7, 7), ...table, ...seg(0xe2, 8), ...seg(0xfe, 4), ...pixels];
  expect([...bare(Uint8Array.from(whole))]).toEqual([0xff, 0xd8, ...head, ...table, ...pixels]);
});
