import type { Local } from '../local/local.ts';

/** Name and version of the format; also the data that the cipher binds, so that no other file passes for one. */
export const FORMAT = 'thwart-copy-1';
/** Turns of PBKDF2 with HMAC-SHA-256: what the OWASP Password Storage Cheat Sheet asks. */
export const ITERATIONS = 600_000;
const PASSPHRASE_ACCEPTED = '12 characters or more: letters a to z, digits, signs and spaces';

/** Letters with accents are left out: two keyboards may write them in different bytes, and the file would not open. */
export function acceptedPassphrase(passphrase: string): boolean {
  return /^[ -~]{12,256}$/.test(passphrase);
}

/** A copy as it leaves the phone: everything but these few words is encrypted. */
export interface CopyFile {
  readonly format: typeof FORMAT;
  readonly madeAt: string;
  readonly kdf: { readonly name: 'PBKDF2-HMAC-SHA-256'; readonly iterations: number; readonly salt: string };
  readonly cipher: { readonly name: 'AES-256-GCM'; readonly iv: string };
  /** Base64 of the ciphertext with its 16 bytes of tag at the end. */
  readonly data: string;
}

/** What is inside. Texts are byte for byte what the phone holds. */
export interface CopyContent {
  readonly format: typeof FORMAT;
  readonly madeAt: string;
  readonly device: string;
  readonly person: string;
  readonly records: readonly { readonly state: string; readonly sum: string; readonly text: string }[];
  readonly drafts: readonly { readonly id: string; readonly savedAt: number; readonly text: string }[];
  readonly photos: readonly { readonly sha256: string; readonly type: string; readonly data: string }[];
}

/** Everything on the phone that the server has not confirmed, and the drafts. */
export async function contentOf(local: Local, madeAt: Date = new Date()): Promise<CopyContent> {
  const photos: CopyContent['photos'][number][] = [];
  for (const p of local.photos.list()) {
    const data = p.state === 'sent' ? undefined : await local.photos.data(p.sha256);
    if (data) photos.push({ sha256: p.sha256, type: p.type, data: base64(new Uint8Array(data)) });
  }
  const { enrolment } = local.status();
  return {
    format: FORMAT,
    madeAt: madeAt.toISOString(),
    device: enrolment?.device ?? '',
    person: enrolment?.person ?? '',
    records: local.journal.rows.filter((r) => r.state !== 'sent').map(({ state, sum, text }) => ({ state, sum, text })),
    drafts: local.loadDrafts().map(({ id, savedAt, value }) => ({ id, savedAt, text: JSON.stringify(value) })),
    photos,
  };
}

/** Encrypts with a passphrase. Whoever has the file and not the passphrase has nothing. */
export async function lock(content: CopyContent, passphrase: string): Promise<CopyFile> {
  if (!acceptedPassphrase(passphrase)) throw new RangeError(`accepted: ${PASSPHRASE_ACCEPTED}`);
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const text = new TextEncoder();
  const secret = await crypto.subtle.importKey('raw', text.encode(passphrase), 'PBKDF2', false, ['deriveKey']);
  const key = await crypto.subtle.deriveKey(
    { name: 'PBKDF2', hash: 'SHA-256', salt, iterations: ITERATIONS },
    secret,
    { name: 'AES-GCM', length: 256 },
    false,
    ['encrypt'],
  );
  const plain = text.encode(JSON.stringify(content));
  const sealed = await crypto.subtle.encrypt({ name: 'AES-GCM', iv, additionalData: text.encode(FORMAT) }, key, plain);
  return {
    format: FORMAT,
    madeAt: content.madeAt,
    kdf: { name: 'PBKDF2-HMAC-SHA-256', iterations: ITERATIONS, salt: base64(salt) },
    cipher: { name: 'AES-256-GCM', iv: base64(iv) },
    data: base64(new Uint8Array(sealed)),
  };
}

/** A passphrase of 100 random bits in groups that can be read out; letters that are misread are left out. */
export function newPassphrase(): string {
  const letters = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
  const draw = crypto.getRandomValues(new Uint8Array(20));
  const s = Array.from(draw, (b) => letters[b & 31]).join('');
  return (s.match(/.{5}/g) ?? []).join('-');
}

/** Hands a file to the phone: to its downloads, from where it can be sent or stored. */
export function download(file: CopyFile): string {
  const name = `thwart-copy-${file.madeAt.slice(0, 16).replaceAll(':', '')}.json`;
  const url = URL.createObjectURL(new Blob([JSON.stringify(file)], { type: 'application/json' }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  // The browser reads the file after the click has been dealt with.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
  return name;
}

function base64(bytes: Uint8Array): string {
  let s = '';
  for (let i = 0; i < bytes.length; i += 0x8000) s += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(s);
}
