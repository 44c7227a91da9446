import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { localTime, newId } from '../src/local/id.ts';
import { sealText, unseal } from '../src/local/seal.ts';

// The server's own test reads the same file; its sums were made with sha256sum (GNU coreutils 9.1).
const cases = JSON.parse(readFileSync(new URL('../../../testdata/sums.json', import.meta.url), 'utf8')) as {
  name: string;
  text: string;
  sum: string;
}[];

test.each(cases)('the sum of an entry is the server’s: $name', async ({ text, sum }) => {
  expect((await unseal(text)).sum).toBe(sum);
});

test('what is sealed can be read back and gives the same sum', async () => {
  const head = {
    id: newId(),
    kind: 'tally',
    subject: newId(),
    madeAt: localTime(new Date()),
    origin: 'phone',
    why: 'half a \ud800 pair',
  };
  const sealed = await sealText(head, { passedBy: 1, note: ',"body":' });
  expect((await unseal(sealed.text)).sum).toBe(sealed.sum);
  expect(sealed.entry.body).toEqual({ passedBy: 1, note: ',"body":' });
});

// RFC 9562, appendix A.6: the example of a version 7 id.
test('an id is laid out as RFC 9562 shows', () => {
  const random = Uint8Array.from([0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
  expect(newId(0x017f22e279b0, random)).toBe('017f22e2-79b0-7cc3-98c4-dc0c0c07398f');
});

test('ids made later sort later', () => {
  const ids = [1, 2, 1000, 1e12, 2e12].map((at) => newId(at));
  expect([...ids].sort()).toEqual(ids);
});
