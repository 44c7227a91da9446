/**
 * A JPEG without its application segments (markers FFE1 to FFEF) and comments, as ITU-T T.81, annex B names them; the plain
 * header FFE0 stays. The browser writes a colour profile there, and the server would take it out: then its hash would be
 * another one than the record's.
 */
export function bare(jpeg: Uint8Array<ArrayBuffer>): Uint8Array<ArrayBuffer> {
  const view = new DataView(jpeg.buffer, jpeg.byteOffset, jpeg.byteLength);
  const parts = [jpeg.subarray(0, 2)];
  let at = 2;
  while (at + 4 <= jpeg.length && jpeg[at] === 0xff) {
    const kind = jpeg[at + 1] ?? 0;
    if (kind === 0xda) break; // pixels from here on
    const end = at + 2 + view.getUint16(at + 2);
    if ((kind < 0xe1 || kind > 0xef) && kind !== 0xfe) parts.push(jpeg.subarray(at, end));
    at = end;
  }
  parts.push(jpeg.subarray(at));
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let to = 0;
  for (const p of parts) {
    out.set(p, to);
    to += p.length;
  }
  return out;
}
