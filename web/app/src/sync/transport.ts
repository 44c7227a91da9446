import { answer, createClient, ProblemError, type Schemas, syncEntries } from '../../../client/src/client.ts';
import { sha256 } from '../local/id.ts';
import type { KnownCraft } from '../local/known.ts';
import type { ReferenceRow } from '../local/rows.ts';
import type { FieldError, Flag, Reason } from '../local/types.ts';

/** Why nothing came of a request. */
export type FailureWhy =
  | 'noSignal' // no answer at all
  | 'storage' // this phone could not read or write what it keeps
  | 'notTheServer' // something answered that is not the programme's server, such as a network's sign-in page
  | 'busy' // the server asks to wait
  | 'tooLarge' // the batch, not its parts
  | 'refused' // the server does not take this request
  | 'revoked'; // this phone is out of service

/** A request that came to nothing. Nothing of it is known to be kept. */
export class SendFailure extends Error {
  override readonly name = 'SendFailure';
  readonly why: FailureWhy;
  readonly retryAfterS: number | undefined;
  readonly fields: readonly FieldError[];
  /** What the server said, or a cause by its name; empty where the kind of failure says it all. */
  readonly reason: Reason;
  constructor(why: FailureWhy, reason: Reason = '', retryAfterS?: number, fields: readonly FieldError[] = []) {
    super(`${why} ${reason}`.trim());
    this.why = why;
    this.reason = reason;
    this.retryAfterS = retryAfterS;
    this.fields = fields;
  }
}

export interface EntryAnswer {
  readonly id: string;
  readonly result: string;
  readonly sum?: string;
  readonly errors?: readonly FieldError[];
  readonly flags?: readonly Flag[];
}

export interface BatchAnswer {
  readonly answers: readonly EntryAnswer[];
  readonly skewMs: number;
  readonly leaseUntil: string;
}

/** What a phone asks of the server. Every method rejects with SendFailure. */
export interface Transport {
  send(entries: readonly { id: string; text: string }[], roundTripMs: number): Promise<BatchAnswer>;
  changes(after: number): Promise<{ rows: readonly ReferenceRow[]; next: number }>;
  lease(): Promise<{ leaseUntil: string }>;
  /** What the person of this phone practised and finds, as the screens want it. */
  practice?(): Promise<Record<string, unknown>>;
  photo(name: string, data: ArrayBuffer): Promise<void>;
  /** The key of this season's marks, in base64; undefined where the server keeps none. */
  markKey?(): Promise<{ season: string; key: string } | undefined>;
  /** Craft met this season, from a cursor on. */
  knownCraft?(after: number): Promise<{ season: string; craft: readonly KnownCraft[]; next: number }>;
}

/** Kinds that a phone carries along. */
const REFERENCE = [
  'water',
  'launch',
  'unit',
  'person',
  'protocol',
  'programme',
  'curriculum',
  'planned_shift',
  'key',
] as const;

/** Longest wait for one answer. A batch on a bad line of 10 kB a second takes half of it. */
const PATIENCE_MS = 45_000;

/** The server over HTTP, every request signed by this phone. */
export function httpTransport(
  device: string,
  privateKey: CryptoKey,
  app: string,
  baseUrl = location.origin,
): Transport {
  let revoked = false;
  const carry = async (request: Request): Promise<Response> => {
    const response = await fetch(
      new Request(request, { signal: AbortSignal.timeout(PATIENCE_MS), redirect: 'error', cache: 'no-store' }),
    );
    revoked = response.headers.get('Thwart-Device-State') === 'revoked';
    return response;
  };
  const client = createClient({ baseUrl, device: { id: device, privateKey }, fetch: carry });
  const ask = async <T>(work: () => Promise<T>, fits: (answer: T) => boolean): Promise<T> => {
    let found: T;
    try {
      revoked = false;
      found = await work();
    } catch (error) {
      throw failureOf(error, revoked);
    }
    if (!fits(found)) throw strange();
    return found;
  };
  return {
    send: async (entries, roundTripMs) =>
      ask(
        async () => (await syncEntries(client, entries, { roundTripMs, app })) as unknown as BatchAnswer,
        isBatchAnswer,
      ),
    changes: async (after) => {
      const query = { after, limit: 500, kinds: REFERENCE as unknown as string[] };
      const found = await ask(
        () =>
          answer(client.GET('/api/changes', { params: { query } })) as Promise<{
            entries: Schemas['Kept'][];
            next: number;
          }>,
        (a) => Array.isArray(a?.entries) && typeof a.next === 'number' && a.next >= after,
      );
      return { rows: found.entries.map(referenceRow), next: found.next };
    },
    lease: async () =>
      ask(
        () => answer(client.POST('/api/lease', {})) as Promise<{ leaseUntil: string; device: string }>,
        (a) => typeof a?.leaseUntil === 'string' && a.device === device,
      ),
    markKey: async () => {
      try {
        return await ask(
          () => answer(client.GET('/api/mark-key', {})) as Promise<{ season: string; key: string }>,
          (a) => typeof a?.season === 'string' && typeof a.key === 'string',
        );
      } catch (error) {
        // A server without a key says so with a status of its own; all else goes on without marks too.
        if (error instanceof SendFailure && (error.why === 'busy' || error.why === 'refused')) return undefined;
        throw error;
      }
    },
    knownCraft: async (after) =>
      ask(
        () =>
          answer(client.GET('/api/known-craft', { params: { query: { after } } })) as Promise<{
            season: string;
            craft: KnownCraft[];
            next: number;
          }>,
        (a) => Array.isArray(a?.craft) && typeof a.next === 'number' && a.next >= after,
      ),
    practice: async () =>
      ask(
        () => answer(client.GET('/api/practice', {})) as unknown as Promise<Record<string, unknown>>,
        (a) => typeof a?.memory === 'object' && typeof a.skill === 'object',
      ),
    photo: async (name, data) => {
      const found = await ask(
        () => sendPicture(client, data),
        (a) => typeof a?.sha256 === 'string',
      );
      if (found.sha256 === name) return;
      if ((await sha256(data)) !== name) throw new SendFailure('refused', 'pictureChanged');
      throw found.changed ? new SendFailure('refused', 'pictureRenamed') : strange();
    },
  };
}

/** The answer repeats the hash of what it keeps; anything else is no receipt. */
async function sendPicture(
  client: ReturnType<typeof createClient>,
  data: ArrayBuffer,
): Promise<Schemas['PictureKept']> {
  return answer(
    client.POST('/api/pictures', {
      body: '', // for the type alone; the serializer gives the bytes
      bodySerializer: () => data,
      headers: { 'Content-Type': 'image/jpeg' },
    }),
  );
}

function isBatchAnswer(a: BatchAnswer): boolean {
  return (
    Array.isArray(a?.answers) &&
    typeof a.skewMs === 'number' &&
    typeof a.leaseUntil === 'string' &&
    a.answers.every((x) => typeof x?.id === 'string' && typeof x.result === 'string')
  );
}

function referenceRow(k: Schemas['Kept']): ReferenceRow {
  const { id, kind, subject, supersedes, removed, madeAt, skewMs } = k;
  return {
    id,
    kind,
    subject,
    madeAt,
    body: k.body,
    ...(supersedes && { supersedes }),
    ...(removed && { removed }),
    ...(skewMs && { skewMs }),
  };
}

function strange(): SendFailure {
  return new SendFailure('notTheServer');
}

/** Sorts what can go wrong by what is to be done about it. */
function failureOf(error: unknown, revoked: boolean): SendFailure {
  if (error instanceof ProblemError) {
    const fields = error.fields.map(({ field, value, accepted }) => ({ field, value, accepted }));
    if (revoked) return new SendFailure('revoked', error.message, undefined, fields);
    // A status without problem details comes from something in between.
    if (error.message.startsWith('no answer of the server itself')) return strange();
    if (error.status === 413) return new SendFailure('tooLarge', error.message, undefined, fields);
    if (error.status === 429 || error.status >= 500)
      return new SendFailure('busy', error.message, error.retryAfterS, fields);
    return new SendFailure('refused', error.message, undefined, fields);
  }
  // A page instead of JSON is a SyntaxError; everything else that fetch rejects with is no answer.
  if (error instanceof SyntaxError) return strange();
  return new SendFailure('noSignal');
}
