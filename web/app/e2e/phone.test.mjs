// The phone in real Chromium, against the program as it is shipped: what is promised of offline work, of sending, of a killed
// app, of a full phone, of two windows, of a new version. Each asserts what is in the server's store afterwards.
// `make test-phone` runs it; alone it needs CHROMIUM and a built ../../bin/thwart (or THWART).
import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { after, before, describe, test } from 'node:test';
import { promisify } from 'node:util';
import { inspect, openShift } from './acts.mjs';
import { binary, luckOf, sha256, sizes, world } from './harness.mjs';

let w;
before(async () => {
  w = await world();
});
after(async () => w?.close());

const offline = () => 'drop';
const sorted = (list) => [...list].sort();
const idsOf = (entries, kind) => sorted(entries.filter((e) => e.kind === kind).map((e) => e.id));

/** A phone on a good line, enrolled. */
async function enrolled(size) {
  w.line.through = () => undefined;
  const phone = await w.phone(size);
  return { phone, device: await phone.enrol() };
}

for (const size of sizes) {
  test(`after one visit everything works without a network, restarts included, at ${size.width} px`, async () => {
    const { phone, device } = await enrolled(size);
    await phone.page.evaluate(() => caches.keys()).then((keys) => assert.equal(keys.length, 1));
    w.line.through = offline;
    await phone.restart();
    const shift = await openShift(phone);
    const made = await inspect(phone, shift, 3);
    await phone.page.evaluate(() => globalThis.thwartRamp.local.saveDraft('open', { kind: 'boat', stop: 4 }));
    await phone.kill();
    await phone.open();
    assert.equal((await phone.status()).onPhone, 4);
    assert.deepEqual(await phone.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().map((d) => d.value.stop)), [4]);
    const more = await inspect(phone, shift, 1);
    assert.equal((await w.api.entriesOf(device)).length, 0);
    const wide = await phone.page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    assert.ok(wide <= 0, `the page is ${wide} px too wide`);
    w.line.through = () => undefined;
    await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
    await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
    const kept = await w.api.entriesOf(device);
    assert.deepEqual(idsOf(kept, 'inspection'), sorted([...made, ...more]));
    assert.deepEqual(sorted(kept.map((e) => e.seq)), [1, 2, 3, 4, 5]);
    await phone.kill();
  });
}

test('200 inspections made offline cross a line that loses, repeats and delays, each once', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  const made = await inspect(phone, shift, 200);
  const incident = await phone.page.evaluate(async () => {
    const { id } = await globalThis.thwartRamp.local.seal('tally', { shift: globalThis.thwartRamp.local.records('shift')[0].entry.id, at: new Date().toISOString(), passedBy: 1 });
    return id;
  });
  assert.equal((await phone.status()).onPhone, 202);
  const luck = luckOf(17);
  const seen = {};
  w.line.through = async (req) => {
    if (!req.url.startsWith('/api/')) return undefined;
    const fate = luck();
    const what = fate < 0.1 ? 'drop' : fate < 0.2 ? 'lose' : fate < 0.3 ? 'twice' : undefined;
    seen[what ?? 'whole'] = (seen[what ?? 'whole'] ?? 0) + 1;
    await new Promise((r) => setTimeout(r, luck() * 300));
    return what;
  };
  const shrink = setInterval(() => void phone.page.evaluate(() => globalThis.thwartRamp.sync.poke()).catch(() => undefined), 500);
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  clearInterval(shrink);
  const kept = await w.api.entriesOf(device);
  assert.equal(kept.length, 202);
  assert.deepEqual(idsOf(kept, 'inspection'), sorted(made));
  assert.deepEqual(idsOf(kept, 'tally'), [incident]);
  const status = await phone.status();
  assert.deepEqual([status.sent, status.needsYou, status.onPhone], [202, 0, 0]);
  assert.ok(Object.keys(seen).length > 1, `the line was bad: ${JSON.stringify(seen)}`);
  await phone.kill();
});

test('a clock a day ahead hands in its records with both times', async () => {
  const { phone, device } = await enrolled();
  await phone.before(() => {
    const day = 86_400_000;
    const Real = Date;
    globalThis.Date = class extends Real {
      constructor(...args) {
        if (args.length === 0) super(Real.now() + day);
        else super(...args);
      }
      static now() {
        return Real.now() + day;
      }
    };
  });
  await phone.restart();
  const shift = await openShift(phone);
  const [id] = await inspect(phone, shift, 1);
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  const entry = (await w.api.entriesOf(device)).find((e) => e.id === id);
  assert.ok(Math.abs(entry.skewMs - 86_400_000) < 60_000, `skew ${entry.skewMs}`);
  assert.ok(Date.parse(entry.madeAt) - Date.parse(entry.receivedAt) > 86_000_000, 'the phone’s own time is kept as it was');
  assert.ok((await phone.status()).skewMs > 86_000_000);
  const flags = await phone.page.evaluate((i) => globalThis.thwartRamp.local.record(i).flags.map((f) => f.code), id);
  assert.deepEqual(flags, ['clock']);
  await phone.kill();
});

test('a full phone says so, loses nothing, and saves again once there is room', async () => {
  const { phone, device } = await enrolled();
  const shift = await openShift(phone);
  const [first] = await inspect(phone, shift, 1);
  // No browser lets a test make its disk small; so from here on every write of more than 100 kB finds it full.
  const result = await phone.page.evaluate(async () => {
    const { local } = globalThis.thwartRamp;
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (value, key) {
      if (JSON.stringify(value).length > 100_000) throw new DOMException('the disk is full', 'QuotaExceededError');
      return put.call(this, value, key);
    };
    const saved = [];
    const refused = [];
    for (let n = 0; n < 10; n++) {
      const id = `boat-${n}`;
      await local.saveDraft(id, { kind: 'boat', n });
      try {
        await local.saveDraft(id, { kind: 'boat', n, filler: 'x'.repeat(n % 2 ? 200_000 : 10) });
        saved.push(id);
      } catch (e) {
        refused.push([e.name, e.why, local.status().trouble?.why]);
      }
    }
    IDBObjectStore.prototype.put = put;
    await local.saveDraft('last', { kind: 'boat' });
    return { saved, refused, trouble: local.status().trouble };
  });
  assert.deepEqual(result.refused, Array(5).fill(['NotSaved', 'full', 'full']));
  assert.equal(result.saved.length, 5);
  assert.equal(result.trouble, undefined, 'the next save that works clears the trouble');
  await phone.kill();
  await phone.open();
  const drafts = await phone.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().map((d) => d.id));
  // A draft whose larger version did not fit is there as it was before, and nothing is there by half.
  assert.deepEqual(sorted(drafts), sorted([...Array.from({ length: 10 }, (_, n) => `boat-${n}`), 'last']));
  const sizes = await phone.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().map((d) => d.value.filler?.length ?? 0));
  assert.ok(sizes.every((n) => n <= 10));
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  assert.deepEqual(idsOf(await w.api.entriesOf(device), 'inspection'), [first]);
  await phone.kill();
});

/** Does journal operations one after the other and says each on the console before it starts and when it is done. */
function work(shift) {
  const { local } = globalThis.thwartRamp;
  const say = (what, value) => console.log(`journal ${what} ${JSON.stringify(value)}`);
  (async () => {
    for (let boat = 0; ; boat++) {
      const id = local.newId();
      for (let stop = 0; stop < 4; stop++) {
        say('begin', { id, stop });
        await local.saveDraft(id, { kind: 'boat', stop });
        say('done', { id, stop });
      }
      say('begin', { id, sealed: true });
      await local.seal('tally', { shift, at: new Date().toISOString(), passedBy: 1 }, { id, draft: id });
      say('done', { id, sealed: true });
    }
  })();
}

test('killed between any two journal operations, the app comes back with every answer that it had confirmed', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  const luck = luckOf(5);
  const done = new Map();
  let begun;
  let ops = 0;
  const listen = (page) =>
    page.on('console', (m) => {
      const [, what, value] = /^journal (\w+) (.*)$/.exec(m.text()) ?? [];
      if (!what) return;
      const v = JSON.parse(value);
      if (what === 'done') ops += 1;
      if (what === 'done') done.set(v.id, v.sealed ? 'sealed' : v.stop);
      else begun = v;
    });
  const rounds = 25;
  for (let round = 0; round < rounds; round++) {
    listen(phone.page);
    await phone.page.evaluate(work, shift);
    // A boat is five operations; each place between two of them has its turn, and a moment of chance lands inside the next.
    for (const until = ops + 1 + (round % 7); ops < until; ) await new Promise((r) => setTimeout(r, 1));
    await new Promise((r) => setTimeout(r, luck() * 8));
    // Mostly the page alone dies, at times the whole browser, as with a dead battery.
    if (round % 6 === 5) {
      await phone.kill();
      await phone.open();
    } else {
      const cdp = await phone.context.newCDPSession(phone.page);
      const gone = phone.page.waitForEvent('crash');
      void cdp.send('Page.crash').catch(() => undefined);
      await gone;
      await phone.page.close();
      phone.page = await phone.context.newPage();
      await phone.page.goto(`${phone.url}/ramp/`);
      await phone.ready();
    }
    const found = await phone.page.evaluate(() => {
      const { local } = globalThis.thwartRamp;
      return { drafts: local.loadDrafts().map((d) => [d.id, d.value.stop]), sealed: local.records('tally').map((r) => r.entry.id), seqs: local.records().map((r) => r.entry.seq) };
    });
    const drafts = new Map(found.drafts);
    for (const [id, stop] of done) {
      const isSealed = found.sealed.includes(id);
      const inFlight = begun?.id === id;
      if (stop === 'sealed') assert.ok(isSealed && !drafts.has(id), `round ${round}: ${id} was sealed and is not`);
      else if (isSealed) assert.ok(inFlight && begun.sealed, `round ${round}: ${id} was sealed by nobody`);
      else {
        assert.ok(drafts.get(id) >= stop, `round ${round}: ${id} had stop ${stop}, now ${drafts.get(id)}`);
        assert.ok(drafts.get(id) <= stop + (inFlight ? 1 : 0), `round ${round}: ${id} has an answer nobody gave`);
      }
    }
    assert.deepEqual(found.seqs, found.seqs.map((_, i) => i + 1), 'numbers of the device without gap');
    // What was left open is settled, so that the next round begins clean.
    await phone.page.evaluate(async () => {
      for (const d of globalThis.thwartRamp.local.loadDrafts()) await globalThis.thwartRamp.local.dropDraft(d.id);
    });
    for (const id of [...done.keys()]) if (!found.sealed.includes(id)) done.delete(id);
    for (const id of found.sealed) done.set(id, 'sealed');
  }
  assert.ok(done.size >= 6, `${done.size} records in ${rounds} rounds`);
  w.line.through = () => undefined;
  await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  assert.deepEqual(idsOf(await w.api.entriesOf(device), 'tally'), sorted(done.keys()));
  await phone.kill();
});

test('a second window only shows, and takes over when the first is gone', async () => {
  const { phone, device } = await enrolled();
  const shift = await openShift(phone);
  const second = await phone.tab();
  assert.equal((await phone.status(second)).readOnly, true);
  await second.getByText('open in another window').waitFor();
  const refused = await second.evaluate(() => globalThis.thwartRamp.local.saveDraft('x', 1).then(() => 'saved', (e) => e.why));
  assert.equal(refused, 'readOnly');
  await inspect(phone, shift, 2);
  await phone.until(() => globalThis.thwartRamp.local.records('inspection').length === 2, undefined, second);
  await phone.page.close();
  phone.page = second;
  await phone.until(() => !globalThis.thwartRamp.local.status().readOnly);
  await inspect(phone, shift, 1);
  await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  const kept = await w.api.entriesOf(device);
  assert.equal(idsOf(kept, 'inspection').length, 3);
  assert.deepEqual(sorted(kept.map((e) => e.seq)), [1, 2, 3, 4]);
  await phone.kill();
});

test('a network’s sign-in page is never taken for a receipt, nor for the app', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  const [id] = await inspect(phone, shift, 1);
  w.line.through = () => (res) => {
    res.writeHead(200, { 'Content-Type': 'text/html' }).end('<!doctype html><title>Guest network</title><form>Accept</form>');
  };
  const state = await phone.page.evaluate(() => globalThis.thwartRamp.sync.pass(true));
  assert.equal(state.why, 'notTheServer');
  assert.deepEqual(await phone.status().then((s) => [s.onPhone, s.sent]), [2, 0]);
  await phone.page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => r.update()).catch(() => undefined));
  await phone.restart();
  assert.equal((await phone.status()).onPhone, 2);
  w.line.through = () => (res) => {
    res.writeHead(200, { 'Content-Type': 'application/json' }).end('{"ok":true}');
  };
  assert.equal((await phone.page.evaluate(() => globalThis.thwartRamp.sync.pass())).why, 'notTheServer');
  assert.equal((await phone.status()).sent, 0);
  w.line.through = () => undefined;
  await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  assert.deepEqual(idsOf(await w.api.entriesOf(device), 'inspection'), [id]);
  await phone.kill();
});

describe('a new version', () => {
  /** Serves the ramp as a later version would be: another page, and a service worker that knows its sum. */
  async function later(broken) {
    const text = async (at) => (await fetch(w.url + at, { headers: { 'Accept-Encoding': 'identity' } })).text();
    w.line.through = () => undefined;
    const [page, worker] = [await text('/ramp/'), await text('/ramp/sw.js')];
    const next = page.replace('</body>', '<!-- later --></body>');
    assert.ok(worker.includes(sha256(page)), 'the service worker names the page');
    const version = /thwart-ramp-`?\+?`?([0-9a-f]{12})|([0-9a-f]{12})(?=`)/.exec(worker);
    const script = worker.replaceAll(version[1] ?? version[2], 'aaaaaaaaaaaa').replaceAll(sha256(page), sha256(next));
    const send = (kind, body) => (res) => {
      res.writeHead(200, { 'Content-Type': kind, 'Cache-Control': 'no-cache' }).end(body);
    };
    w.line.through = (req) => {
      if (req.url === '/ramp/sw.js') return send('text/javascript', script);
      if (req.url === '/ramp/') return broken ? 'drop' : send('text/html; charset=utf-8', next);
      return undefined;
    };
  }
  const html = (phone) => phone.page.content();
  const look = (phone) => phone.page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => r.update()).catch(() => undefined));

  test('that arrives mid-boat waits for the boat; one that arrives by half is not used', async () => {
    const { phone } = await enrolled();
    await phone.page.reload(); // served by the service worker from here on
    await phone.ready();
    await phone.page.evaluate(() => globalThis.thwartRamp.local.saveDraft('boat', { kind: 'boat', stop: 2 }));
    await later(true);
    await look(phone);
    await new Promise((r) => setTimeout(r, 1500));
    assert.equal(await phone.page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => Boolean(r.waiting))), false);
    await later(false);
    await look(phone);
    await phone.until(() => navigator.serviceWorker.getRegistration().then((r) => Boolean(r.waiting)));
    assert.equal(await phone.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts()[0].value.stop), 2);
    await phone.page.reload();
    await phone.ready();
    assert.doesNotMatch(await html(phone), /<!-- later -->/);
    await phone.page.evaluate(() => globalThis.thwartRamp.local.dropDraft('boat'));
    await phone.page.evaluate(() => globalThis.thwartRamp.changeOver());
    await phone.page.waitForFunction(() => document.documentElement.outerHTML.includes('<!-- later -->')).catch(async (e) => {
      const { active, waiting, installing } = await phone.page.evaluate(async () => {
        const r = await navigator.serviceWorker.getRegistration();
        return { active: r.active?.state, waiting: r.waiting?.state, installing: r.installing?.state };
      });
      assert.fail(`the new version was not taken: active ${active}, waiting ${waiting}, installing ${installing}; ${e.message}`);
    });
    await phone.ready();
    w.line.through = offline;
    await phone.restart();
    assert.match(await html(phone), /<!-- later -->/);
    assert.equal(await phone.page.evaluate(() => caches.keys().then((k) => k.length)), 1);
    await phone.kill();
  });
});

test('a photo is made small, loses what the camera wrote into it, and goes after the records', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  const [encounter] = await inspect(phone, shift, 1);
  const photo = await phone.page.evaluate(async (encounter) => {
    const { local } = globalThis.thwartRamp;
    const canvas = new OffscreenCanvas(4000, 3000);
    const pen = canvas.getContext('2d');
    for (let i = 0; i < 40_000; i++) {
      pen.fillStyle = `hsl(${Math.random() * 360} 60% 50%)`;
      pen.fillRect(Math.random() * 4000, Math.random() * 3000, 40, 40);
    }
    // As a camera writes it: a block of tags, here with a place in it, right behind the first two bytes.
    const plain = new Uint8Array(await (await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.95 })).arrayBuffer());
    const tags = new TextEncoder().encode('Exif\0\0 GPS 46.5 -39.5 of a camera');
    const block = new Uint8Array([0xff, 0xe1, 0, tags.length + 2, ...tags]);
    const p = await local.photos.add(new Blob([plain.subarray(0, 2), block, plain.subarray(2)], { type: 'image/jpeg' }));
    await local.seal('photo', { encounter, finding: 0, sha256: p.sha256, bytes: p.bytes, type: p.type });
    const text = new TextDecoder('latin1').decode(await local.photos.data(p.sha256));
    return { ...p, tagged: text.includes('GPS') || text.includes('Exif') };
  }, encounter);
  assert.equal(photo.tagged, false);
  assert.ok(photo.bytes <= 350_000 && Math.max(photo.widthPx, photo.heightPx) <= 1600, JSON.stringify(photo));
  assert.deepEqual(await phone.status().then((s) => [s.onPhone, s.photosWaiting]), [3, 1]);
  w.line.requests.length = 0;
  w.line.through = () => undefined;
  await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await phone.until(() => globalThis.thwartRamp.local.status().photosWaiting === 0);
  assert.deepEqual(await phone.page.evaluate(() => globalThis.thwartRamp.local.photos.list().map((p) => [p.state, p.reason])), [['sent', undefined]]);
  const order = w.line.requests.filter((r) => r.startsWith('POST /api/')).map((r) => r.split(' ')[1]);
  assert.ok(order.lastIndexOf('/api/sync') < order.indexOf('/api/pictures'), order.join(' '));
  const record = (await w.api.entriesOf(device)).find((e) => e.kind === 'photo');
  assert.equal(record.body.sha256, photo.sha256);
  const kept = await w.api.bytes(`/api/pictures/${photo.sha256}`);
  assert.equal(sha256(kept), photo.sha256);
  await phone.kill();
});

test('a phone out of service keeps what it has, and the office has it for review', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  await inspect(phone, shift, 2);
  await w.api.post(`/api/devices/${device}/revoke`);
  w.line.through = () => undefined;
  await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await phone.until(() => globalThis.thwartRamp.local.status().revoked);
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  assert.equal((await phone.status()).needsYou, 3);
  assert.equal((await w.api.entriesOf(device)).length, 0);
  const { items } = await w.api.get('/api/refusals?limit=1000');
  assert.equal(items.filter((r) => r.device === device).length, 3);
  await phone.kill();
});

test('a copy off the phone is opened at the office and its records are in the store', async () => {
  const { phone, device } = await enrolled();
  w.line.through = offline;
  const shift = await openShift(phone);
  const made = await inspect(phone, shift, 3);
  await phone.page.evaluate(() => globalThis.thwartRamp.local.saveDraft('boat', { kind: 'boat', stop: 1 }));
  const file = await phone.page.evaluate(() => globalThis.thwartRamp.copy('seven wet herons'));
  await phone.kill(); // and never seen again
  const at = path.join(w.folder, 'copy.json');
  await writeFile(at, JSON.stringify(file));
  await writeFile(path.join(w.folder, 'words'), 'seven wet herons\n');
  const args = ['unpack', at, '--passphrase-file', path.join(w.folder, 'words'), '--store', w.store, '--keep', '--json'];
  for (const result of ['stored', 'had']) {
    const { stdout } = await promisify(execFile)(binary, args);
    const report = JSON.parse(stdout);
    assert.deepEqual(report.records.map((r) => r.result), [result, result, result, result]);
    assert.equal(report.drafts, 1);
  }
  assert.deepEqual(idsOf(await w.api.entriesOf(device), 'inspection'), sorted(made));
});
