import assert from "node:assert/strict";
import { createHash, randomBytes } from "node:crypto";
import { after, before, test } from "node:test";
import {
  answer, createClient, newDeviceKey, ProblemError, publicKeyText, sealEntry, syncEntries,
  type BodyOf, type Device, type Kind, type Of, type Schemas, type SealedEntry, type ThwartClient,
} from "../src/client.ts";
import { cookieFetch, type Server, startServer } from "./server.ts";

// One programme for all tests, in the order of a season's first day: the office, a phone, its records.
let server: Server;
let office: ThwartClient; // the manager's browser
let phone: ThwartClient; // a steward's
let device: Device;
let steward: string, water: string, launch: string, shift: string;
let seq = 0;

before(async () => {
  server = await startServer();
  office = createClient({ baseUrl: server.url, fetch: cookieFetch() });
  const manager = { code: server.code, name: "Marit", login: "marit", password: "otter hammock lantern" };
  const me = await answer(office.POST("/api/setup", { body: manager }));
  assert.equal(me.role, "manager");
  water = await subject("water", { name: "Brackenholt Lake", centre: [-39.6, 46.4], others: "not_found" });
  launch = await subject("launch", { name: "Brackenholt East", water, at: [-39.6, 46.41], lanes: 1 });
  steward = await subject("person", { name: "Steward", roles: ["steward"] });
  const { code } = await answer(office.POST("/api/invites", { body: { person: steward, role: "steward" } }));
  const key = await newDeviceKey();
  const state = await answer(createClient({ baseUrl: server.url }).POST("/api/enrol", {
    body: { code, name: "phone 1", publicKey: await publicKeyText(key.publicKey) },
  }));
  assert.equal(state.person, steward);
  device = { id: state.device, privateKey: key.privateKey };
  phone = createClient({ baseUrl: server.url, device });
});

after(() => server?.stop());

async function subject<K extends Kind>(kind: K, body: BodyOf<K>): Promise<string> {
  const made = await answer(office.POST("/api/subjects", { body: { kind, body } as Schemas["CreateInBody"] }));
  return made.subject;
}

/** A UUID version 7 (RFC 9562, section 5.7). */
function newID(): string {
  const b = randomBytes(16);
  b.writeUIntBE(Date.now(), 0, 6);
  b[6] = 0x70 | (b[6]! & 0x0f);
  b[8] = 0x80 | (b[8]! & 0x3f);
  return b.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

function record<K extends Kind>(kind: K, body: BodyOf<K>): Of<"Entry", K> {
  const id = newID();
  return {
    id, kind, subject: id, madeAt: new Date().toISOString(), origin: "phone", person: steward, device: device.id,
    seq: ++seq, app: "1", body,
  } as Of<"Entry", K>;
}

/** Tries and gives the problem that the server has with it. */
async function problem(call: Promise<unknown>): Promise<ProblemError> {
  const [result] = await Promise.allSettled([call]);
  assert.equal(result.status, "rejected", "the server took it");
  const { reason } = result as PromiseRejectedResult;
  assert.ok(reason instanceof ProblemError, String(reason));
  return reason;
}

test("a batch that is sent twice is kept once, byte for byte", async () => {
  const opened = record("shift", { launch, people: [steward], from: new Date().toISOString(), note: "café <&> \u2028 🛶" });
  shift = opened.id;
  const now = new Date().toISOString();
  const tally = record("tally", { shift, at: now, passedBy: 3 });
  const inspection = record("inspection", {
    shift, protocol: "regional-minimum@1",
    inspection: {
      launch, water, direction: "launching", startedAt: now,
      setup: { class: "canoe_kayak", lengthM: 5, drives: ["hand"], spaces: [], trailer: "none" },
      lastWaters: [{ water, outAt: now, stay: "day_use" }],
      others: { looked: "yes", felt: "yes", opened: "yes", wet: "dry" },
    },
  });
  const sealed = [opened, tally, inspection].map(sealEntry);

  const first = await syncEntries(phone, sealed, { app: "1" });
  assert.deepEqual(first.answers?.map((a) => [a.id, a.result, a.errors]), sealed.map((e) => [e.id, "stored", undefined]));
  assert.ok(first.clockPlausible);
  const again = await syncEntries(phone, sealed, { app: "1", roundTripMs: 20 });
  assert.deepEqual(again.answers?.map((a) => a.result), ["had", "had", "had"]);

  // The server's own sum: the fields line by line, then the body as it was sent.
  for (const [i, e] of [opened, tally, inspection].entries()) {
    const madeAt = e.madeAt.replace(/\.?0*Z$/, "Z"); // the server writes no zeros at the end of a fraction
    const lines = [e.id, e.kind, e.subject, "", false, "", madeAt, e.origin, e.person, e.device, e.seq, JSON.stringify(e.body)];
    assert.equal(first.answers?.[i]?.sum, createHash("sha256").update(lines.join("\n")).digest("hex"), e.kind);
  }

  // The same fields in other bytes are another entry under the same id, and are refused: hence the sealing.
  const other: SealedEntry = { id: tally.id, text: sealed[1]!.text.replace('"passedBy":3', '"passedBy": 3') };
  assert.notEqual(other.text, sealed[1]!.text);
  const refused = await syncEntries(phone, [other]);
  assert.deepEqual(refused.answers?.map((a) => a.result), ["refused"]);
  assert.notEqual(refused.answers?.[0]?.errors?.length, 0);
});

test("the office reads what the phone handed in", async () => {
  const page = await answer(office.GET("/api/encounters", { params: { query: { launch, sort: "-at" } } }));
  assert.deepEqual(page.items?.map((r) => [r.launch, r.class]), [[launch, "canoe_kayak"]]);
  const tallies = await answer(office.GET("/api/subjects", { params: { query: { kind: "tally", parent: shift } } }));
  assert.deepEqual(tallies.items?.map((s) => [s.person, (s.body as { passedBy: number }).passedBy]), [[steward, 3]]);
  const totals = await answer(office.GET("/api/totals", { params: { query: { by: "launch" } } }));
  assert.deepEqual(totals.items?.map((t) => [t.key, t.encounters, t.passedBy]), [[launch, 1, 3]]);
});

test("a signed request may carry a query with a list in it", async () => {
  const changes = await answer(phone.GET("/api/changes", { params: { query: { kinds: ["water", "launch"], after: 0 } } }));
  assert.deepEqual(changes.entries?.map((e) => [e.kind, e.subject]), [["water", water], ["launch", launch]]);
});

test("a problem names the field, the value and what is accepted", async () => {
  const sort = await problem(answer(office.GET("/api/encounters", { params: { query: { sort: "colour" } } })));
  assert.deepEqual([sort.status, sort.title], [422, "Unprocessable Entity"]);
  assert.deepEqual(sort.fields.map((f) => [f.field, f.value]), [["query.sort", "colour"]]);
  assert.match(sort.fields[0]!.accepted, /outcome/);
  assert.notEqual(sort.message, "");

  const answers = (await syncEntries(phone, [sealEntry(record("tally", { shift, at: "2026-05-01T08:00:00Z", passedBy: -1 }))])).answers;
  assert.equal(answers?.[0]?.result, "refused");
  assert.deepEqual(answers[0].errors?.map((f) => [f.field, f.value]), [["body.passedBy", "-1"]]);
});

test("a signature by another key, or over other bytes, is not taken", async () => {
  const stranger = createClient({ baseUrl: server.url, device: { id: device.id, privateKey: (await newDeviceKey()).privateKey } });
  assert.equal((await problem(answer(stranger.GET("/api/me")))).status, 401);

  const onTheWay = createClient({
    baseUrl: server.url, device,
    fetch: async (request) => fetch(new Request(request, { body: (await request.text()).replace('"app":"1"', '"app":"2"') })),
  });
  assert.equal((await problem(syncEntries(onTheWay, [], { app: "1" }))).status, 401);
  assert.equal((await answer(phone.GET("/api/me"))).device, device.id);
});

test("what is no answer of the server is a problem all the same", async () => {
  const gateway = createClient({
    baseUrl: server.url,
    fetch: async () => new Response("<p>Bad gateway</p>", { status: 502, headers: { "Content-Type": "text/html", "Retry-After": "7" } }),
  });
  const p = await problem(answer(gateway.GET("/api/me")));
  assert.deepEqual([p.status, p.fields, p.retryAfterS], [502, [], 7]);
});
