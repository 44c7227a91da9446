import { sha256 } from './id.ts';
import type { Entry } from './types.ts';

/** An entry whose bytes are settled: the text is what is stored, mirrored and sent, whatever the program does later. */
export interface Sealed {
  readonly entry: Entry;
  readonly text: string;
  readonly sum: string;
}

/** Writes an entry down for good. */
export async function sealText(head: Omit<Entry, 'body'>, body: unknown): Promise<Sealed> {
  const bodyText = JSON.stringify(body);
  if (bodyText === undefined) throw new TypeError('a record needs a body');
  // What the server reads back must be what was hashed: text with half a surrogate pair would come back changed.
  const clean = head.why === undefined ? head : { ...head, why: head.why.toWellFormed() };
  const text = `${JSON.stringify(clean).slice(0, -1)},"body":${bodyText}}`;
  return { entry: JSON.parse(text) as Entry, text, sum: await sumOf(clean, bodyText) };
}

/** Reads a stored text and gives its sum again, from the bytes of its body. */
export async function unseal(text: string): Promise<Sealed> {
  const entry = JSON.parse(text) as Entry;
  const at = text.indexOf(',"body":');
  if (at < 0) throw new TypeError('not an entry');
  return { entry, text, sum: await sumOf(entry, text.slice(at + 8, -1)) };
}

/**
 * The sum that the server answers with: every field on a line of its own, then the bytes of the body. It must be the same
 * as the server's, so that a phone can tell a receipt for its own bytes from any other answer.
 */
async function sumOf(e: Omit<Entry, 'body'>, bodyText: string): Promise<string> {
  const lines = [
    e.id,
    e.kind,
    e.subject,
    e.supersedes ?? '',
    String(e.removed ?? false),
    e.why ?? '',
    utc(e.madeAt),
    e.origin,
    e.person ?? '',
    e.device ?? '',
    String(e.seq ?? 0),
  ];
  return sha256(`${lines.join('\n')}\n${bodyText}`);
}

/** UTC with as many decimals as needed and none at a whole second. */
function utc(madeAt: string): string {
  return new Date(madeAt).toISOString().replace(/\.?0*Z$/, 'Z');
}
