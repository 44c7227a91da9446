// What a shift holds beside a plain walk round: receipts read, orders handed over, washes that end in a second look, and what a person
// may do about a verdict. No network; each script asserts what is in the phone's store afterwards. `make test-phone` runs it.
import assert from 'node:assert/strict';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { cameraOf, film } from './camera.mjs';
import { sizes, world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

let w;
let film1;
/** The steward's phone, and another one with a camera. */
let a;
let b;

async function rampOf(name, args) {
  const phone = await w.phone(sizes[0], args);
  await phone.enrol();
  const ramp = new Ramp(phone, `flow-${name}`);
  await ramp.openShift('Alder Point', 1);
  return ramp;
}

before(async () => {
  w = await world();
  film1 = path.join(w.folder, 'camera.y4m');
  a = await rampOf('a');
});
after(async () => w?.close());

/** The second phone knows the first one's key once both have been in touch with the server. */
async function second() {
  if (b) return;
  await a.phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
  await a.phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  await a.phone.context.setOffline(true); // it does not hear of the other one's key until a test says so
  await writeFile(film1, '');
  b = await rampOf('b', cameraOf(film1));
  await b.phone.page.evaluate(() => globalThis.thwartRamp.sync.pass(true));
  await b.phone.context.setOffline(true);
}

const canoe = { craft: /canoe/, water: /^Brackenholt Lake/, out: 'A month or more', stay: /^For the day launched/ };
const runabout = { ...canoe, craft: /runabout/ };
const fromMussels = { craft: /runabout/, type: 'Owlmere', water: /^Owlmere/, out: /^Yesterday/, stay: /^For days/ };

/** Walks a runabout to its verdict. */
async function walkRunabout(r, asked = runabout) {
  await r.ask(asked);
  await r.tap(/^Drive is down/);
  await r.tap(/^Plugs are out/);
  await r.tap(/^Walk round/);
  await r.walkOn();
}

async function letters(r) {
  await r.page.locator('summary').last().tap();
  const text = await r.page.locator('.code-text').innerText();
  return text.trim();
}

async function paste(r, label, text) {
  await r.page.getByLabel(label).fill(text);
  await r.tap('Read it');
}

/** The code with one of its letters another one. */
const changed = (text) => text.replace(/^(.{40})(.)/, (_, head, c) => head + (c === '7' ? '8' : '7'));

/** Modules a side of the code on the screen, its margin of four left out. */
const modules = (r) => r.page.evaluate(() => Number(document.querySelector('img.qr').getAttribute('width')) - 8);

/** What the screen says of times: one, by the clock of the launch, with its zone. */
async function oneTime(r) {
  const text = await r.page.locator('main').innerText();
  assert.equal(text.match(/\d{1,2}:\d{2}/g)?.length, 1, text);
  assert.match(text, /\d{4}.* at \d{1,2}:\d{2}\s[AP]M [A-Z]{2,5}(?![A-Z])/, text);
  assert.doesNotMatch(text, /UTC/);
}

let receipt;

test('a receipt is read from pasted letters: good, in water since, altered, and none at all', async () => {
  await a.ask(canoe);
  await a.walkOn();
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  await a.page.locator('img.qr').waitFor();
  receipt = await letters(a);
  const code = (await a.last('receipt')).body.code;
  assert.equal(receipt, code);
  await oneTime(a);
  await a.at('verify');
  await paste(a, 'Or the letters under the code', receipt);
  await a.heading(/^Good/);
  await oneTime(a);
  await a.look('receipt-good');
  await a.tap(/^Yes, or not sure/);
  await a.heading('Been in the water since');
  await a.look('receipt-in-water');
  await a.tap('Read another');
  // One letter other than it was, in the middle of the signature.
  const at = receipt.length - 20;
  const other = receipt[at] === 'A' ? 'B' : 'A';
  await paste(a, 'Or the letters under the code', receipt.slice(0, at) + other + receipt.slice(at + 1));
  await a.heading(/^(Altered|Issuer)/);
  await a.look('receipt-altered');
  await a.tap('Read another');
  await paste(a, 'Or the letters under the code', 'HELLO');
  await a.heading('Not a receipt');
  await a.page.getByText('A receipt never shortens the walk.').waitFor();
});

test('another phone reads the receipt by its camera, without a network', async () => {
  await second();
  await a.at(`boat/${(await a.last('receipt')).body.encounter}/receipt`);
  await a.page.locator('img.qr').waitFor();
  await film(a.page, film1);
  await b.at('verify');
  await b.tap('Use the camera');
  await b.heading(/^Good/);
  await b.look('receipt-by-camera');
});

test('where the camera is not allowed, the letters still work', async () => {
  await a.phone.context.setOffline(true);
  await a.at('verify');
  await a.tap('Use the camera');
  await a.page.getByText(/The camera cannot be used here/).waitFor();
  await a.look('no-camera');
  await paste(a, 'Or the letters under the code', receipt);
  await a.heading(/^Good/);
});

test('a find with a photo takes at most six taps, with the camera not allowed', async () => {
  await a.home();
  await a.ask(runabout);
  await a.tap(/^Drive is down/);
  await a.tap(/^Plugs are out/);
  await a.tap(/^Walk round/);
  const jpeg = Buffer.from(
    await a.page.evaluate(async () => {
      const c = new OffscreenCanvas(2400, 1800);
      const pen = c.getContext('2d');
      for (let i = 0; i < 6000; i++) {
        pen.fillStyle = `hsl(${(i * 47) % 360} 60% 50%)`;
        pen.fillRect((i * 379) % 2400, (i * 613) % 1800, 90, 70);
      }
      return Array.from(new Uint8Array(await (await c.convertToBlob({ type: 'image/jpeg', quality: 0.95 })).arrayBuffer()));
    }),
  );
  a.taps = 0;
  await a.tap(/^Found/);
  await a.tap(/Axle/);
  await a.tap('Plant');
  await a.tap('2 to 10');
  const chooser = a.page.waitForEvent('filechooser');
  await a.tap('Photo');
  await (await chooser).setFiles({ name: 'find.jpg', mimeType: 'image/jpeg', buffer: jpeg });
  await a.page.getByAltText('Photo of the find').waitFor();
  assert.ok(a.taps <= 6, `${a.taps} taps`);
  await a.page.getByAltText('Photo of the find').scrollIntoViewIfNeeded();
  await a.look('photo');
  await a.walkOn();
  await a.tap(/^Fix it here/);
  await a.tap(/^It is off/);
  await a.tap(/See the verdict/);
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  const photo = (await a.last('photo')).body;
  assert.equal(photo.encounter, (await a.last('inspection')).subject);
  assert.equal(photo.finding, 1);
  assert.ok(photo.bytes <= 350_000, `${photo.bytes} B`);
});

/** Asks for a craft by the number on its hull; one that this phone has not met is picked by its picture. */
async function askByNumber(r, number) {
  await r.tap(/^Next boat/);
  await r.tap(/^Been here before/);
  await r.page.getByLabel('Number on the hull').fill(number);
  await r.tap('Find it');
  const fresh = r.page.getByText('This phone has not met it.');
  await fresh.or(r.page.getByText('Which water was it in last?')).first().waitFor();
  if (await fresh.count()) {
    await r.tap('Pick a picture');
    await r.tap(canoe.craft);
  }
  await r.tap(canoe.water);
  await r.tap(canoe.out);
  await r.tap(canoe.stay);
  await r.walkOn();
}

test('a craft with the same number within minutes: the same boat?', async () => {
  await a.home();
  await askByNumber(a, 'WL 4471 K');
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  await a.home();
  await askByNumber(a, 'wl-4471-k');
  await a.tap(/^May be a boat met before/);
  await a.heading('The same boat?');
  await a.look('same-boat');
  await a.tap('The same boat');
  const pairing = (await a.last('pairing')).body;
  assert.equal(pairing.decision, 'same');
  const known = (await a.records('inspection')).map((e) => e.subject);
  assert.ok(known.includes(pairing.a) || known.includes(pairing.b));
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
});

test('a verdict is departed from with a reason; from a hold only by two', async () => {
  await a.home();
  await a.ask(canoe);
  await a.walkOn();
  await a.tap(/^Decide otherwise/);
  await a.tap(/^HOLD/);
  assert.ok(await a.button('Decide so').isDisabled(), 'no decision without a reason');
  await a.fill('Reason', 'The lead wants a biologist to see it');
  await a.look('override');
  await a.tap('Decide so');
  assert.equal(await a.verdict(), 'HOLD');
  await a.look('overridden');
  await a.tap(/^Call it in/);
  await a.heading('What is it?');
  await a.page.getByText('It is put down for the boat you came from.').waitFor();
  await a.tap('May be a mussel');
  await a.heading('May be a mussel');
  const { body, subject } = await a.last('inspection');
  assert.equal(body.verdict.outcome, 'launch');
  assert.equal(body.override.outcome, 'hold');
  assert.equal(body.override.second, undefined);
  assert.equal((await a.last('incident')).body.encounter, subject);
  // What is held waits for whoever was called, not for a day.
  await a.at(`boat/${subject}`);
  await a.page.locator('.plate-hold').waitFor();
  const offers = await a.offers();
  assert.deepEqual(offers.filter((o) => /dry|Look at it|wash/i.test(o)), [], offers.join(' | '));
  await a.look('held');
  // Refused: a computed hold.
  await a.home();
  await a.ask(canoe);
  await a.tap(/^Found/);
  await a.page.locator('.work .tile').first().tap();
  await a.page.waitForTimeout(400);
  await a.tap('Shell or animal');
  await a.tap('Not sure');
  await a.tap('One');
  await a.tap('Alive');
  await a.walkOn();
  assert.equal(await a.verdict(), 'HOLD');
  await a.tap(/^Decide otherwise/);
  await a.tap(/^FIX HERE/);
  await a.fill('Reason', 'An empty shell of a land snail');
  assert.ok(await a.button('Decide so').isDisabled(), 'one person alone makes no hold milder');
  await a.page.getByLabel(/^Second person/).selectOption({ index: 1 });
  await a.look('second-person');
  await a.tap('Decide so');
  assert.equal(await a.verdict(), 'FIX HERE');
});

test('ten minutes to take it back; after that a correction with its reason, and both can be read', async () => {
  await a.home();
  await a.ask(canoe);
  await a.walkOn();
  await a.tap(/^Let it launch/);
  await a.tap(/^The boat$/);
  await a.button(/^Take it back/).waitFor();
  await a.page.evaluate(() => {
    const now = Date.now;
    Date.now = () => now() + 11 * 60_000;
  });
  const first = await a.last('inspection');
  await a.at('boats');
  await a.at(`boat/${first.subject}`);
  await a.heading('LAUNCH');
  assert.equal(await a.button(/^Take it back/).count(), 0);
  await a.tap(/^Correct it, with a reason/);
  await a.look('correct');
  await a.tap('Tapped the wrong thing');
  await a.tap(/^Wet/);
  await a.page.locator('.acts .tile').first().tap();
  await a.page.waitForTimeout(400);
  await a.tap(/^Water Stands/);
  await a.at(`boat/${first.subject}`);
  assert.notEqual(await a.verdict(), 'LAUNCH');
  await a.tap(/^Fix it here/);
  await a.button(/^Wiped dry/).waitFor();
  for (let n = 0; n < 20 && (await a.button(/^Wiped dry/).count()); n++) await a.tap(/^Wiped dry/);
  await a.tap(/See the verdict/);
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  const chain = (await a.records('inspection')).filter((e) => e.subject === first.subject);
  assert.equal(chain.length, 2);
  assert.equal(chain[1].supersedes, first.id);
  assert.equal(chain[1].why, 'Tapped the wrong thing');
  assert.deepEqual(chain[0].body, first.body, 'the first record stays as it was');
  await a.tap(/^The boat$/);
  await a.page.getByText('This record was changed. The first one stays readable.').waitFor();
  await a.page.reload();
  await a.phone.ready();
});

test('short of time: what is given up is said, and it makes no verdict milder', async () => {
  await a.home();
  await a.ask(runabout);
  await a.tap('Short of time');
  await a.tap('1 minute');
  await a.page.getByText(/Of 100 hidden things/).waitFor();
  await a.look('short');
  await a.tap('Take the short round');
  await a.button(/^Drive is down/).waitFor();
  await a.tap(/^Drive is down/);
  await a.tap(/^Plugs are out/);
  await a.tap(/^Walk round/);
  await a.walkOn();
  assert.notEqual(await a.verdict(), 'LAUNCH');
  await a.page.getByText(/places? looked at, felt and opened/).waitFor();
  const draft = await a.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().find((d) => d.value.acts?.some((x) => x.do === 'short')).value);
  const skipped = draft.acts.flatMap((x) => x.checks ?? []).filter((c) => c.reason === 'No time');
  assert.ok(skipped.length > 0 && skipped.every((c) => c.looked === 'no'));
});

/** Goes through every step of the wash that is open: by hand what is done by hand, by the logger's file what is hot. */
async function washAll(r, onMet) {
  let heat = 0;
  for (let n = 0; n < 60; n++) {
    const step = r.button(/^Step \d+/);
    const hand = r.page.getByRole('button', { name: 'Done', exact: true });
    const where = r.page.getByRole('button', { name: /^(At the surface|In the water that leaves|In the bath)$/ });
    const finish = r.button(/^Finish the wash/);
    await step.or(hand).or(where).or(finish).first().waitFor();
    if (await finish.count()) return heat;
    if (await step.count()) await r.tap(/^Step \d+/);
    else if (await hand.count()) await r.tap(/^Done$/);
    else {
      // In the water that leaves, where the step is judged there; else at the surface.
      const exit = r.button('In the water that leaves');
      const text = await r.page.locator('.work').innerText();
      const name = (await r.button('In the bath').count()) ? 'In the bath' : (await exit.count()) && /in the water that leaves/i.test(text) ? 'In the water that leaves' : 'At the surface';
      await r.tap(name);
      await r.page.locator('input[type=file]').setInputFiles({ name: 'logger.csv', mimeType: 'text/csv', buffer: Buffer.from(hot) });
      await r.button(/^From the file logger.csv/).waitFor();
      await r.page.locator('.state-word').filter({ hasText: /^(Met|Does not count)$/ }).waitFor();
      const word = await r.page.locator('.state-word').innerText();
      assert.equal(word, 'Met', `${text}: ${await r.page.locator('.wrong').allInnerTexts()}`);
      // By shape as well: the bar is drawn aside.
      assert.equal(await r.page.locator('.held-sign').getAttribute('d'), 'M38 55 H72');
      heat += 1;
      if (heat === 1) await onMet?.();
      await r.tap(/^Met: next step/);
    }
  }
  return assert.fail('the wash has no end');
}

/** Ten minutes at 66 °C, once a second, as a logger writes it. */
const hot = `Time (s),Temperature (°C)\n${Array.from({ length: 601 }, (_, s) => `${s},66.0`).join('\n')}\n`;

/** Reads what hot water may do, where it was not read in this shift yet, and comes to the steps. */
async function cautionsRead(r) {
  const read = r.button(/^I have read this/);
  await read.or(r.button(/^Step \d+/)).first().waitFor();
  if (await read.count()) await r.tap(/^I have read this/);
  await r.button(/^Step \d+/).first().waitFor();
}

test('a wash by a logger’s file is met by shape and word, and ends in a second look that clears the boat', async () => {
  await a.home();
  await walkRunabout(a, fromMussels);
  assert.equal(await a.verdict(), 'WASH');
  await a.tap(/^To the wash/);
  await a.tap(/^Start the wash/);
  await cautionsRead(a);
  const heat = await washAll(a, () => a.look('met'));
  assert.ok(heat >= 2, `${heat} steps with heat`);
  // The look after it is no step that whoever washes ticks off, and until the wash is on record nobody looks again at a washed boat.
  await a.heading('No part of the wash');
  assert.deepEqual((await a.offers()).filter((o) => /look/i.test(o) && !/^Finish the wash/.test(o)), []);
  await a.look('steps-done');
  await a.at(`boat/${(await a.last('inspection')).subject}`);
  await a.page.locator('.plate-wash').waitFor();
  assert.equal(await a.button('Look at it again').count(), 0);
  await a.tap('Go on with its wash');
  await a.tap(/^Finish the wash/);
  await a.page.locator('.plate-wash').waitFor();
  await a.look('washed');
  const wash = (await a.last('wash')).body;
  assert.ok(wash.steps.every((s) => s.outcome === 'met' && s.proof.protocol === 'met'));
  await a.tap('Look at it again');
  await a.walkOn();
  assert.equal(await a.verdict(), 'LAUNCH');
  await a.page.getByText(/has been washed since/).waitFor();
  await a.look('second-look');
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  const chain = (await a.records('inspection')).filter((e) => e.subject === wash.encounter);
  assert.deepEqual(chain.map((e) => e.body.verdict.outcome), ['wash', 'launch']);
  assert.equal(chain[1].body.inspection.washedAt, wash.endedAt);
  assert.equal((await a.last('receipt')).body.outcome, 'launch');
});

test('a signed order goes to another phone by its code; what comes back clears the boat only when it is signed by a phone of the programme', async () => {
  await second();
  await a.home();
  await walkRunabout(a, { ...fromMussels, out: /^2 days ago/ });
  await a.tap(/^To the wash/);
  await a.tap('To another phone');
  await a.heading('The wash order');
  await a.page.locator('img.qr').waitFor();
  await a.look('order-code');
  const spoken = (await a.page.locator('.big-num').innerText()).trim();
  assert.match(spoken, /^[A-Z2-7]{4}$/);
  const order = await letters(a);
  assert.match(order, /^TWN1:/);
  assert.ok((await modules(a)) <= 57, 'wider modules than a cheap camera needs');
  const encounter = (await a.last('inspection')).subject;
  await film(a.page, film1);
  await b.home();
  await b.tap('Take a wash order');
  await paste(b, 'Four letters', changed(order));
  await b.page.getByText(/read wrong, or somebody changed it/).waitFor();
  await b.tap('Use the camera');
  await b.heading(/^(Before hot water runs|Wash: )/);
  await b.tap(/^I have read this/);
  await b.look('order-taken');
  const taken = await b.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().find((d) => d.value.kind === 'wash').value.order);
  assert.equal(taken.encounter, encounter);
  assert.doesNotMatch(JSON.stringify(taken.cs.inspection), /"(mark|note|steward|launch)"/, 'nothing of the boater travels');
  await washAll(b);
  await b.tap(/^Finish the wash/);
  await b.heading('The wash is on record');
  await b.page.locator('img.qr').waitFor();
  await b.look('wash-over');
  const over = await letters(b);
  await a.at(`boat/${encounter}`);
  await a.tap('Read the wash from the other phone');
  await paste(a, 'The code in letters', order);
  await a.page.getByText(/another kind of code/).waitFor();
  // The other phone was set up after this one last fetched the keys: its word counts once they are here.
  await paste(a, 'The code in letters', over);
  await a.page.getByText(/no phone that this one knows has signed it/).waitFor();
  await a.look('not-the-end');
  assert.equal((await a.last('inspection')).body.verdict.outcome, 'wash');
  await a.phone.context.setOffline(false);
  await a.phone.page.evaluate(() => globalThis.thwartRamp.sync.pass(true));
  await paste(a, 'The code in letters', changed(over));
  await a.page.getByText(/read wrong, or somebody changed it/).waitFor();
  await paste(a, 'The code in letters', over);
  await a.walkOn();
  assert.equal(await a.verdict(), 'LAUNCH');
  await a.tap(/^Let it launch/);
  await a.heading('Your receipt');
  assert.equal(Date.parse((await a.last('inspection')).body.inspection.washedAt), Date.parse((await b.last('wash')).body.endedAt));
});

/**
 * The screen is locked for so many seconds: the page is hidden and frozen, the clock that never jumps stands still as it does in a phone
 * that sleeps, and the clock on the wall goes on.
 */
async function locked(r, seconds) {
  const cdp = await r.phone.context.newCDPSession(r.page);
  const seen = (state) =>
    r.page.evaluate((to) => {
      Object.defineProperty(document, 'visibilityState', { configurable: true, get: () => to });
      document.dispatchEvent(new Event('visibilitychange'));
    }, state);
  await seen('hidden');
  await cdp.send('Page.setWebLifecycleState', { state: 'frozen' });
  await new Promise((done) => setTimeout(done, 200));
  await cdp.send('Page.setWebLifecycleState', { state: 'active' });
  await wall(r, seconds);
  await seen('visible');
  await cdp.detach();
}

/** Moves the clock on the wall. */
const wall = (r, seconds) =>
  r.page.evaluate((ms) => {
    const before = Date.now;
    Date.now = () => before() + ms;
  }, seconds * 1000);

async function readHeat(r, degrees) {
  await r.page.locator('#reading').fill(String(degrees));
  await r.tap('Keep the reading');
}

/** The open step: seconds on its clock, seconds it shows as held, and its state in a word. */
async function heatNow(r) {
  const counted = await r.page.evaluate(() => globalThis.thwartRamp.local.timers.list().at(-1).id).then((id) =>
    r.page.evaluate((t) => globalThis.thwartRamp.local.timers.elapsedMs(t) / 1000, id),
  );
  const [min, sec] = (await r.page.locator('.dose .big-num').innerText()).split(':').map(Number);
  return { counted, held: min * 60 + sec, word: await r.page.locator('.state-word').innerText() };
}

const near = (a, b, by, what) => assert.ok(Math.abs(a - b) <= by, `${what}: ${a}, want ${b} ± ${by}`);

/** A heated step through a locked screen: the clock is right afterwards, and time that nobody watched never counts. */
async function throughALock(r) {
  await r.tap('At the surface');
  await readHeat(r, 66);
  await r.page.getByText('Running', { exact: true }).waitFor();
  await locked(r, 600);
  await r.page.getByText('Not watched', { exact: true }).waitFor();
  const asleep = await heatNow(r);
  near(asleep.counted, 600, 15, 'seconds on the clock after ten minutes');
  assert.equal(asleep.held, 0, 'ten minutes that nobody watched');
  assert.equal(await r.button(/^Met/).count(), 0);
  await r.look('unlocked');
  await readHeat(r, 66);
  await r.page.getByText('Running', { exact: true }).waitFor();
  assert.equal((await heatNow(r)).held, 0, 'a reading before the lock and one after it prove nothing of the time between');
  await locked(r, 4);
  await readHeat(r, 66);
  await r.page.waitForFunction(() => document.querySelector('.dose .big-num')?.textContent !== '0:00');
  const probes = await r.page.evaluate(() => {
    const { acts } = globalThis.thwartRamp.local.loadDrafts().find((d) => d.value.kind === 'wash').value;
    return acts.filter((x) => x.do === 'reading').map((x) => x.probe.atS);
  });
  const watched = probes[2] - probes[1];
  assert.ok(watched >= 4, `${watched} s between the readings`);
  near((await heatNow(r)).held, watched, 1, 'seconds held through a short lock');
  // A clock that is set back while the phone is in the hand changes nothing.
  const before = (await heatNow(r)).counted;
  await wall(r, -3600);
  near((await heatNow(r)).counted, before, 15, 'seconds on the clock after it was set back an hour');
  assert.notEqual((await heatNow(r)).word, 'Met');
  await wall(r, 3600 - 604);
}

test('a wash that fell short clears nothing: the second look still says wash; a locked screen makes no wash longer', async () => {
  await a.home();
  await walkRunabout(a, { ...fromMussels, out: /^3 days ago/ });
  await a.tap(/^To the wash/);
  await a.tap(/^Start the wash/);
  await cautionsRead(a);
  const washes = (await a.records('wash')).length;
  const boat = (await a.last('inspection')).subject;
  await a.tap(/^Not this boat/); // taken by mistake: nothing was done, nothing is kept, and the boat still waits
  await a.button(/^Next boat/).waitFor();
  assert.equal((await a.records('wash')).length, washes);
  await a.tap(/^Take a wash order/);
  await a.page.locator('main').getByRole('button', { name: /runabout/ }).last().click();
  await cautionsRead(a);
  let locks = 0;
  for (let n = 0; n < 40; n++) {
    const finish = a.button(/^Finish the wash/);
    const step = a.button(/^Step \d+/);
    const early = a.button(/^(End it early|Could not do it)/);
    await finish.or(step).or(early).first().waitFor();
    if (await finish.count()) break;
    if (await step.count()) await a.tap(/^Step \d+/);
    else {
      if (locks === 0 && (await a.button('At the surface').count())) {
        locks += 1;
        await throughALock(a);
      }
      await a.tap(/^(End it early|Could not do it)/);
      await a.tap('Out of water or fuel');
    }
  }
  assert.equal(locks, 1, 'no step with heat');
  await a.tap(/^Finish the wash/);
  await a.page.locator('.plate-wash').waitFor();
  await a.tap('Look at it again');
  // What was looked at before the wash does not count for the look after it, though this wash clears nothing.
  await a.at(`boat/${(await a.last('wash')).body.encounter}`);
  await a.page.locator('.leg-head').waitFor();
  assert.equal(await a.page.locator('.plate').count(), 0);
  await a.walkOn();
  assert.equal(await a.verdict(), 'WASH');
  assert.equal((await a.last('wash')).body.encounter, boat);
  assert.equal((await a.last('wash')).body.steps.every((s) => s.outcome === 'short'), true);
});

test('the programme’s key is turned: receipts from before and after are good, on phones that know of it and on those that do not', async () => {
  await second();
  const keys = (r) => r.page.evaluate(() => globalThis.thwartRamp.local.reference.list('key').map((k) => k.body));
  const [before, elsewhere] = [await keys(a), await keys(b)];
  const inUse = before.find((k) => k.use === 'programme' && !k.until);
  await w.api.post('/api/receipt-key/rotate', { confirm: inUse.keyId });
  await a.phone.context.setOffline(false);
  await a.phone.page.evaluate(() => globalThis.thwartRamp.sync.pass(true));
  const known = new Set(before.map((k) => k.keyId));
  assert.ok((await keys(a)).some((k) => k.use === 'programme' && !known.has(k.keyId)), 'the new key has come to this phone');
  assert.deepEqual(await keys(b), elsewhere, 'and not to the one without signal');
  // A boat that is done and has no receipt yet gets one now, signed after the turn.
  const fresh = await a.page.evaluate(() => {
    const { local } = globalThis.thwartRamp;
    const had = new Set(local.records('receipt').map((r) => r.entry.body.encounter));
    const done = new Set(local.loadDrafts().flatMap((d) => (d.value.kind === 'done' ? [d.value.boat.id] : [])));
    return local.records('inspection').find((r) => !had.has(r.entry.subject) && done.has(r.entry.subject))?.entry.subject;
  });
  assert.ok(fresh, 'every boat has a receipt already');
  const old = (await a.last('receipt')).body;
  await a.at(`boat/${fresh}/receipt`);
  await a.page.locator('img.qr').waitFor();
  const made = (await a.last('receipt')).body;
  assert.equal(made.encounter, fresh);
  for (const [r, name] of [[a, 'a'], [b, 'b']]) {
    for (const { code, expiresAt } of [old, made]) {
      await r.at('home');
      await r.at('verify');
      await paste(r, 'Or the letters under the code', code);
      await r.heading(expiresAt ? 'Good' : 'True, and no pass');
    }
    await r.look(`key-turned-${name}`);
  }
});

test('an incident is three taps away from any screen', async () => {
  const starts = ['home', 'craft', 'tally', 'verify', 'order', 'settings', 'close', 'state', 'boats', `boat/${(await a.last('inspection')).subject}/card`];
  let n = (await a.records('incident')).length;
  for (const at of starts) {
    await a.at(at);
    a.taps = 0;
    await a.tap('Call, help');
    await a.tap(/^Raise an incident/);
    await a.tap('Fuel or waste');
    await a.heading('Fuel or waste water ran out');
    assert.ok(a.taps <= 3, `${a.taps} taps from ${at}`);
    n += 1;
    assert.equal((await a.records('incident')).length, n);
  }
});
