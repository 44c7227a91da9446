/**
 * A typed client of the server's API: every path, parameter, body and answer has the type that the server's OpenAPI
 * document gives it (schema.d.ts, generated). It carries requests and knows no rule of the trade.
 *
 * Start with {@link createClient}. A browser passes no device and is known by the cookie that POST /api/sign-in sets. A
 * phone passes its {@link Device} and every request is signed. {@link answer} turns a failed request into a
 * {@link ProblemError}.
 *
 * ```ts
 * const phone = createClient({ baseUrl: "https://boats.example", device });
 * const { entries } = await answer(phone.GET("/api/changes", { params: { query: { after: 0 } } }));
 * ```
 *
 * What it does not do: it keeps nothing, retries nothing and waits for nothing. A batch that got no answer is to be sent
 * again by the caller, with the same {@link SealedEntry} objects; the server keeps each entry once.
 */
import createFetchClient, { type Client, type Middleware } from "openapi-fetch";
import type { Schemas } from "./records.ts";
import type { paths } from "./schema.d.ts";

export type { paths } from "./schema.d.ts";
export type { BodyOf, Kind, Of, Schemas } from "./records.ts";
export type ThwartClient = Client<paths>;

const HEADER_DEVICE = "Thwart-Device";
const HEADER_NOW = "Thwart-Now";
const HEADER_SIGNATURE = "Thwart-Signature";
/** First line of what is signed; it keeps a signature that was made for something else from being used here. */
const SIGNED_PREFIX = "thwart-request-1";

/** An enrolled phone: the id that the server gave it and the key that it enrolled with. */
export interface Device {
  readonly id: string;
  readonly privateKey: CryptoKey;
}

export interface ClientOptions {
  /** Root of the server, without a path: signatures cover the path as the server sees it. */
  readonly baseUrl: string;
  /** Signs every request; left out in a browser that has signed in. */
  readonly device?: Device;
  /** The device's clock; it need not be right, the server measures by how much it is off. */
  readonly now?: () => Date;
  readonly fetch?: (request: Request) => Promise<Response>;
}

/** Makes a client. Its GET, POST and so on are those of openapi-fetch. */
export function createClient({ baseUrl, device, now = () => new Date(), fetch }: ClientOptions): ThwartClient {
  const client = createFetchClient<paths>({
    baseUrl,
    ...(fetch && { fetch }),
    // A phone is known by its signature alone; a cookie that lies about in its browser is not sent along.
    credentials: device ? "omit" : "same-origin",
    // The document asks for lists in a query as one parameter with commas.
    querySerializer: { array: { style: "form", explode: false } },
  });
  if (device) client.use(signing(device, now));
  return client;
}

/** Makes the key of a phone. The private part cannot be read out again, not even by this program. */
export async function newDeviceKey(): Promise<CryptoKeyPair> {
  return await crypto.subtle.generateKey("Ed25519", false, ["sign", "verify"]) as CryptoKeyPair;
}

/** The public key as POST /api/enrol takes it: 32 bytes in base64. */
export async function publicKeyText(key: CryptoKey): Promise<string> {
  return base64(await crypto.subtle.exportKey("raw", key));
}

/**
 * Signs requests as the server checks them: Ed25519 (RFC 8032) over five lines without a newline at the end, namely the
 * prefix, the method, the path with its query, the SHA-256 of the body in hexadecimal, and the time as it stands in the
 * header. A time that the caller has put into the header is kept.
 */
function signing(device: Device, now: () => Date): Middleware {
  return {
    async onRequest({ request }) {
      const at = request.headers.get(HEADER_NOW) ?? now().toISOString();
      const { pathname, search } = new URL(request.url);
      // The bytes are read back from the request, so that what is signed is what is sent.
      const sum = await crypto.subtle.digest("SHA-256", await request.clone().arrayBuffer());
      const text = [SIGNED_PREFIX, request.method, pathname + search, hex(sum), at].join("\n");
      const signature = await crypto.subtle.sign("Ed25519", device.privateKey, new TextEncoder().encode(text));
      request.headers.set(HEADER_DEVICE, device.id);
      request.headers.set(HEADER_NOW, at);
      request.headers.set(HEADER_SIGNATURE, base64(signature));
      return request;
    },
  };
}

/**
 * An entry whose bytes are settled. The server tells a repetition (had) from a mistake (refused) by a sum over the entry's
 * fields and the bytes of its body as sent, and keeps the first. A body that is written out anew before each sending may
 * come out in other bytes: after a change of the program, for instance, with its fields in another order. So an entry is
 * made into text once, the text is what a phone stores, and the text is what every attempt sends.
 */
export interface SealedEntry {
  readonly id: string;
  /** The JSON of the whole entry. Not to be read and written again. */
  readonly text: string;
}

/** Writes an entry down for good. Keep the result, not the entry. */
export function sealEntry(entry: Schemas["Entry"]): SealedEntry {
  return { id: entry.id, text: JSON.stringify(entry) };
}

export interface BatchOptions {
  /** The device's clock at the sending. */
  readonly now?: Date;
  /** From request to answer, as last measured; left out when not known. */
  readonly roundTripMs?: number;
  /** Version of the phone's program. */
  readonly app?: string;
}

/**
 * Hands in entries of a phone and gives the receipts in the order sent. Stored and had both mean that the server keeps the
 * entry. When it throws, none is known to be kept: send the same sealed entries again.
 */
export async function syncEntries(
  phone: ThwartClient,
  entries: readonly SealedEntry[],
  { now = new Date(), roundTripMs, app }: BatchOptions = {},
): Promise<Schemas["SyncAnswer"]> {
  const deviceNow = now.toISOString();
  const envelope = JSON.stringify({ deviceNow, app, roundTripMs });
  // The entries are put in as text: reading them into objects to write them out again is what must not happen.
  const text = `${envelope.slice(0, -1)},"entries":[${entries.map((e) => e.text).join(",")}]}`;
  return await answer(
    phone.POST("/api/sync", {
      body: { deviceNow, entries: [] }, // for the type alone; the serializer gives the text
      bodySerializer: () => text,
      headers: { [HEADER_NOW]: deviceNow }, // the server wants the two times to be the same
    }),
  );
}

/** The server said no, or something between it and us did. */
export class ProblemError extends Error {
  override readonly name = "ProblemError";
  readonly status: number;
  /** The words of the HTTP status. */
  readonly title: string;
  /** Fields that cannot be taken: where, what was given, what is accepted. Empty when no field is at fault. */
  readonly fields: readonly Schemas["FieldError"][];
  /** Seconds to wait before another try, where the server said so. */
  readonly retryAfterS: number | undefined;

  constructor(problem: Schemas["Problem"], retryAfterS?: number) {
    super(problem.detail ?? problem.title);
    this.status = problem.status;
    this.title = problem.title;
    this.fields = problem.errors ?? [];
    this.retryAfterS = retryAfterS;
  }
}

/**
 * Gives the body of an answer, or throws a {@link ProblemError}. A request that met no server at all rejects with the
 * TypeError of fetch.
 */
export async function answer<D>(call: Promise<{ data?: D; error?: unknown; response: Response }>): Promise<D> {
  const { data, error, response } = await call;
  if (response.ok) return data as D;
  const wait = Number(response.headers.get("Retry-After") ?? NaN);
  throw new ProblemError(problemOf(error, response), Number.isFinite(wait) ? wait : undefined);
}

/** A proxy answers with a page of its own; then the status is all that is known. */
function problemOf(error: unknown, response: Response): Schemas["Problem"] {
  if (response.headers.get("Content-Type")?.startsWith("application/problem+json")) return error as Schemas["Problem"];
  const title = response.statusText || `status ${response.status}`;
  return { type: "about:blank", title, status: response.status, detail: `no answer of the server itself: ${title}` };
}

function hex(bytes: ArrayBuffer): string {
  return Array.from(new Uint8Array(bytes), (b) => b.toString(16).padStart(2, "0")).join("");
}

function base64(bytes: ArrayBuffer): string {
  return btoa(String.fromCharCode(...new Uint8Array(bytes)));
}
