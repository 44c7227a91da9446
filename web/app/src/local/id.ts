/**
 * A UUID version 7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, then random bits. Ids made later sort later.
 */
export function newId(
  at: number = Date.now(),
  random: Uint8Array = crypto.getRandomValues(new Uint8Array(10)),
): string {
  const b = new Uint8Array(16);
  new DataView(b.buffer).setBigUint64(0, BigInt(Math.max(Math.trunc(at), 0)) << 16n);
  b.set(random.subarray(0, 10), 6);
  b[6] = ((b[6] ?? 0) & 0x0f) | 0x70;
  b[8] = ((b[8] ?? 0) & 0x3f) | 0x80;
  const x = hex(b);
  return `${x.slice(0, 8)}-${x.slice(8, 12)}-${x.slice(12, 16)}-${x.slice(16, 20)}-${x.slice(20)}`;
}

export function hex(bytes: Uint8Array): string {
  let s = '';
  for (const b of bytes) s += b.toString(16).padStart(2, '0');
  return s;
}

/** SHA-256 in hexadecimal. */
export async function sha256(data: string | Uint8Array<ArrayBuffer> | ArrayBuffer): Promise<string> {
  const bytes = typeof data === 'string' ? new TextEncoder().encode(data) : data;
  return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)));
}

/** RFC 3339 with the offset of the phone's time zone: the wall clock that the steward saw can be read from it. */
export function localTime(at: Date): string {
  const off = -at.getTimezoneOffset();
  const local = new Date(at.getTime() + off * 60_000).toISOString().slice(0, -1);
  if (off === 0) return `${local}Z`;
  const pad = (n: number) => String(n).padStart(2, '0');
  return `${local}${off < 0 ? '-' : '+'}${pad(Math.trunc(Math.abs(off) / 60))}:${pad(Math.abs(off) % 60)}`;
}
