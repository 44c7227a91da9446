import { createDecipheriv, pbkdf2Sync } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { IDBFactory } from 'fake-indexeddb';
import { expect, test } from 'vitest';
import {
  acceptedPassphrase,
  type CopyContent,
  type CopyFile,
  contentOf,
  lock,
  newPassphrase,
} from '../src/copy/copy.ts';
import { Local } from '../src/local/local.ts';

const passphrase = 'otter hammock lantern';

/** Opens a copy with Node's own OpenSSL, not with the code that made it. */
function open(file: CopyFile, words: string): CopyContent {
  const key = pbkdf2Sync(words, Buffer.from(file.kdf.salt, 'base64'), file.kdf.iterations, 32, 'sha256');
  const data = Buffer.from(file.data, 'base64');
  const cipher = createDecipheriv('aes-256-gcm', key, Buffer.from(file.cipher.iv, 'base64'));
  cipher.setAAD(Buffer.from(file.format));
  cipher.setAuthTag(data.subarray(-16));
  return JSON.parse(Buffer.concat([cipher.update(data.subarray(0, -16)), cipher.final()]).toString());
}

async function phone(): Promise<Local> {
  const local = new Local({ factory: new IDBFactory(), name: 'copy', app: '1.0.0' });
  await local.open();
  await local.journal.setEnrolment(
    {
      ...{
        device: '01980d5e-6a00-7000-8000-00000000000d',
        person: '01980d5e-6a00-7000-8000-00000000000e',
        role: 'steward',
      },
      ...{ name: 'phone 1', leaseUntil: '2026-12-01T00:00:00Z', demo: false, enrolledAt: '2026-07-01T00:00:00Z' },
    },
    undefined,
  );
  return local;
}

test('a copy opens with its passphrase, holds what has not been sent byte for byte, and opens with no other', async () => {
  const local = await phone();
  const at = '2026-07-04T09:30:00-05:00';
  const shift = '01980d5e-6a00-7000-8000-000000000001';
  const madeAt = new Date('2026-07-04T14:30:00Z');
  const entry = await local.seal(
    'tally',
    { shift, at, passedBy: 3 },
    { madeAt, id: '01980d5e-6a00-7000-8000-000000000002' },
  );
  await local.seal('tally', { shift, at, refused: 1 }, { madeAt, id: '01980d5e-6a00-7000-8000-000000000003' });
  const sent = await local.seal('tally', { shift, at, turnedAway: 2 });
  await local.journal.settle([{ id: sent.id, sum: local.record(sent.id)?.sum ?? '' }]);
  await local.saveDraft('boat', { stop: 4, note: 'żółw' });
  const file = await lock(await contentOf(local, new Date('2026-07-04T15:00:00Z')), passphrase);
  const inside = open(file, passphrase);
  expect(inside.records).toHaveLength(2);
  expect(inside.records[0]).toEqual({
    state: 'onPhone',
    sum: local.record(entry.id)?.sum,
    text: local.journal.rows[0]?.text,
  });
  expect(inside.drafts.map((d) => JSON.parse(d.text))).toEqual([{ stop: 4, note: 'żółw' }]);
  expect(() => open(file, 'otter hammock lanterN')).toThrow();
  expect(JSON.stringify(file)).not.toContain('passedBy');
  // The files that the Go side is tested with are made here: THWART_WRITE_COPY=1 npx vitest run test/copy.test.ts
  if (process.env.THWART_WRITE_COPY) {
    for (const path of ['internal/phonecopy/testdata/copy.json', 'cmd/thwart/testdata/files/phone-copy.json']) {
      writeFileSync(new URL(`../../../${path}`, import.meta.url), `${JSON.stringify(file)}\n`);
    }
  }
});

test('a passphrase is long enough and typed alike on every keyboard', async () => {
  expect(acceptedPassphrase(newPassphrase())).toBe(true);
  expect(newPassphrase()).toMatch(/^(?:[0-9A-HJKMNP-TV-Z]{5}-){3}[0-9A-HJKMNP-TV-Z]{5}$/);
  expect(newPassphrase()).not.toBe(newPassphrase());
  for (const bad of ['short', 'elevenchars', 'with an é in it', '']) {
    expect(acceptedPassphrase(bad)).toBe(false);
    await expect(lock({} as CopyContent, bad)).rejects.toThrow(/12 characters/);
  }
});
