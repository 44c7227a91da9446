// Practice craft and questions in real Chromium: a whole drill by touch without a network, one by keyboard alone, one by the list of
// places as a screen reader has it, and one at the desk. Each asserts what is in the store afterwards.
// `make test-phone` runs it; alone it needs CHROMIUM and a built ../../bin/thwart (or THWART).
import assert from 'node:assert/strict';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { sizes, world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

const AXE = { axeToo: true };
const shots = path.join(import.meta.dirname, '../../../out/shots');

let w;
before(async () => {
  w = await world();
});
after(async () => w?.close());

/** Waits for something, and says what stood on the screen instead where it did not come. */
async function seen(page, what) {
  await what.first().waitFor().catch(async (e) => {
    throw new Error(`${e.message}\nOn the screen: ${await page.evaluate(() => document.body.innerText.slice(0, 600))}`);
  });
}

/** A phone of the demo that has opened practice once. */
async function practised(name, size = sizes[0]) {
  w.line.through = () => undefined;
  const phone = await w.phone(size);
  const device = await phone.enrol();
  const ramp = new Ramp(phone, `practice-${size.width}-${name}`);
  const asked = w.line.requests.length;
  await phone.page.waitForTimeout(ramp.pace); // a hand is slower than from the last button of the set-up to the next one
  await ramp.tap(/^Practice/);
  await seen(phone.page, ramp.button(/^Look over a craft/));
  await phone.page.waitForFunction(() => caches.match('/engine/practice.wasm').then(Boolean));
  assert.ok(w.line.requests.slice(asked).some((r) => r.includes('practice.wasm')), 'practice is fetched when it is opened');
  return { phone, device, ramp };
}

/** Does at one place what it allows, by taps, and gives the answer that fits what was seen and felt. */
async function atPlace(ramp) {
  const { page } = ramp;
  const acts = page.getByRole('group', { name: 'What do you do here?' }).getByRole('button');
  for (let n = 0; n < (await acts.count()); n++) {
    await acts.nth(n).tap();
    await page.waitForFunction((k) => document.querySelectorAll('.acts [aria-pressed="true"]').length > k, n);
    await page.waitForTimeout(ramp.pace);
  }
  const hidden = ramp.button(/^Cannot be seen/);
  if (await hidden.count()) return ramp.tap(/^Cannot be seen/);
  if ((await page.locator('.sign').count()) === 0) return ramp.tap(/^Nothing here, dry/);
  await ramp.tap(/^Found$/);
  await ramp.tap(/^Cannot tell what/);
  return ramp.tap(/^Dry$/);
}

/** The record of the last drill on this phone, and that it says what was done. */
async function lastDrill(ramp, { places, verdict }) {
  const drill = await ramp.last('drill');
  assert.equal(drill.body.places.length, places);
  assert.equal(drill.body.verdictGiven, verdict);
  assert.ok(drill.body.verdictRight, 'the right verdict stands beside it');
  assert.equal(drill.person, drill.body.person);
  assert.ok(drill.body.endedAt >= drill.body.startedAt);
  return drill;
}

for (const size of sizes) {
  test(`a whole drill by touch, without a network, at ${size.width} px`, async () => {
    const { phone, ramp } = await practised('touch', size);
    await ramp.look('first', AXE);
    await phone.context.setOffline(true);
    await phone.page.reload();
    await phone.ready();
    await ramp.button(/^Look over a craft/).waitFor();
    await ramp.tap(/^Look over a craft/);
    await ramp.look('choose', AXE);
    await ramp.tap(/^canoe/i);
    await ramp.heading('The owner says');
    await ramp.look('story', AXE);
    await ramp.tap(/^Begin the round/);
    const all = Number(/of (\d+)/.exec(await phone.page.locator('.leg-of').innerText())[1]);
    assert.ok(all > 10, `${all} places`);
    await ramp.look('place', AXE);
    await ramp.tap(/^Below$/);
    await ramp.look('below', AXE);
    await ramp.tap(/^Above$/);
    for (let n = 0; n < all; n++) {
      await atPlace(ramp);
      if (n !== 2) continue;
      await ramp.look('under-way', AXE);
      // The phone is put away and comes back: the same place, with what was answered.
      const here = await phone.page.locator('main').innerText();
      await phone.page.reload();
      await phone.ready();
      await seen(phone.page, ramp.button(/^Go on with your craft/));
      await ramp.look('go-on', AXE);
      await ramp.tap(/^Go on with your craft/);
      await seen(phone.page, phone.page.locator('.leg-of'));
      assert.equal(await phone.page.locator('main').innerText(), here);
    }
    await ramp.heading(/./);
    assert.match(await phone.page.locator('.leg-of').innerText(), new RegExp(`${all} answered`));
    await ramp.look('all-answered', AXE);
    await ramp.tap(/^End the round/);
    await ramp.look('verdict', AXE);
    await ramp.tap(/^HOLD/i);
    await ramp.look('steps', AXE);
    await phone.page.getByLabel('Act').selectOption('call');
    await ramp.tap(/^Add it/);
    await ramp.tap(/^See how it went/);
    await ramp.heading('How it went');
    await phone.page.locator('.craft-picture img').waitFor();
    await ramp.look('after', AXE);
    await phone.page.locator('.craft-picture').scrollIntoViewIfNeeded();
    await ramp.look('after-way');
    await phone.page.getByText('Time at each place').tap();
    await phone.page.locator('table').scrollIntoViewIfNeeded();
    await ramp.look('after-times', AXE);
    const drill = await lastDrill(ramp, { places: all, verdict: 'hold' });
    assert.equal(drill.state, 'onPhone');
    assert.ok(drill.body.places.every((p) => p.answered === 'yes' || p.answered === 'no'), 'every place was answered');
    await ramp.tap(/^Back to practice/);
    await ramp.heading('This week');
    await ramp.look('first-after', AXE);

    await phone.context.setOffline(false);
    await phone.page.evaluate(() => globalThis.thwartRamp.sync.poke());
    await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
    const kept = await w.api.get(`/api/subjects/${drill.subject}`);
    assert.deepEqual(kept.body, drill.body, 'the store has the drill as it was sealed');
    await phone.kill();
  });
}

/** Goes by Tab to the button of that name and presses Enter, as somebody without a pointer does. */
async function press(page, name) {
  for (let n = 0; n < 250; n++) {
    const here = await page.evaluate(() => {
      const e = document.activeElement;
      return e && e.matches('button, select, a, summary') ? (e.getAttribute('aria-label') ?? e.textContent ?? '').trim() : '';
    });
    if (name.test(here)) {
      await page.keyboard.press('Enter');
      await page.waitForTimeout(40);
      return;
    }
    await page.keyboard.press('Tab');
  }
  assert.fail(`no button ${name} is reached by Tab`);
}

test('a whole drill and its questions by keyboard alone', async () => {
  const { phone, device, ramp } = await practised('keys');
  const { page } = phone;
  await press(page, /^Look over a craft/);
  await ramp.heading('Which craft?');
  await press(page, /canoe/i);
  await ramp.heading('The owner says');
  await press(page, /^Begin the round/);
  const of = page.locator('.leg-of');
  const all = Number(/of (\d+)/.exec(await of.innerText())[1]);
  for (let n = 0; n < all; n++) {
    const before = await of.innerText();
    await press(page, /^Look$/);
    await page.locator('.acts [aria-pressed="true"]').first().waitFor();
    await press(page, n === 0 ? /^Nothing here, but wet/ : /^Nothing here, dry|^Cannot be seen/);
    if (n === 0) await press(page, /^Damp/);
    await page.waitForFunction((b) => document.querySelector('.leg-of').textContent !== b, before);
  }
  await press(page, /^End the round/);
  await ramp.heading('Your verdict?');
  await press(page, /^LAUNCH/i);
  await seen(page, page.getByRole('heading', { name: 'How it went' }));
  const drill = await lastDrill(ramp, { places: all, verdict: 'launch' });

  await press(page, /^Back to practice/);
  await ramp.heading('This week');
  await press(page, /^Questions/);
  for (let n = 1; n <= 6; n++) {
    await page.getByText(`Question ${n} of 6`).waitFor();
    if (n === 1) await ramp.look('question', AXE);
    await press(page, n === 6 ? /^I do not know/ : /^(?!Undo|Boats|Call)\S/);
  }
  await ramp.heading(/of 6 right/);
  await ramp.look('marks', AXE);
  const quiz = await ramp.last('drill');
  assert.notEqual(quiz.id, drill.id);
  assert.equal(quiz.body.questionsAsked, 6);
  assert.equal(quiz.body.places.length, 0);
  const right = Number(/^(\d) of 6/.exec(await page.locator('h1').innerText())[1]);
  assert.equal(quiz.body.questionsRight ?? 0, right);
  const topics = quiz.body.topics;
  assert.equal(topics.reduce((n, x) => n + x.asked, 0), 6, 'the record says what the questions were about');
  await phone.until(() => globalThis.thwartRamp.local.status().onPhone === 0);
  const { items } = await w.api.get('/api/subjects?kind=drill&limit=1000');
  assert.deepEqual(items.filter((i) => i.device === device).map((i) => i.subject).sort(), [drill.subject, quiz.subject].sort());
  await phone.kill();
});

test('the whole drill as a list, by roles and names alone', async () => {
  const { phone, ramp } = await practised('list');
  const { page } = phone;
  // A screen reader presses without a place on the screen, so that no press is taken for a tap that bounces.
  const button = (name, within = page) => {
    const found = within.getByRole('button', { name });
    return Object.assign(found, { click: () => found.dispatchEvent('click') });
  };
  await button(/^Look over a craft/).click();
  await button(/^As a list/).click();
  assert.equal(await button(/^As a list/).getAttribute('aria-pressed'), 'true');
  await button('3', page).click();
  await button(/^canoe/i).click();
  await button(/^Begin the round/).click();
  await ramp.heading(/^0 of \d+ places answered/);
  assert.equal(await page.locator('.craft-picture, .closeup').count(), 0, 'nothing hangs on a picture');
  await ramp.look('list', AXE);
  const places = page.getByRole('region').filter({ has: page.getByRole('heading', { name: /^Place \d+/ }) });
  const all = await places.count();
  let marked = 0;
  for (let n = 0; n < all; n++) {
    const place = places.nth(n);
    const acts = place.getByRole('group', { name: 'What do you do here?' }).getByRole('button');
    const tasks = await acts.count();
    for (let k = 0; k < tasks; k++) {
      await acts.nth(k).dispatchEvent('click');
      await place.locator('[aria-pressed="true"]').nth(k).waitFor();
    }
    const said = await place.getByRole('status').innerText();
    assert.notEqual(said, '', 'what was done is answered in words');
    if (/Water stands here/.test(said)) {
      await button(/^Found$/, place).click();
      await button(/^Water$/, place).click();
      marked++;
    } else if (/You see|To the hand:/.test(said)) {
      await button(/^Found$/, place).click();
      await button(/^Cannot tell what/, place).click();
      await button(/^Dry$/, place).click();
      marked++;
    } else await button(/^Nothing here, dry|^Cannot be seen/, place).click();
    await button(/^Change the answer/, place).waitFor();
  }
  await ramp.heading(`${all} of ${all} places answered`);
  await button(/^End the round/).click();
  await button(/^WASH/i).click();
  await page.getByLabel('Act').selectOption('wash');
  await page.getByLabel('On').selectOption({ index: 0 });
  await button(/^Add it/).click();
  await button(/^See how it went/).click();
  await seen(page, page.getByRole('heading', { name: 'How it went' }));
  await ramp.look('list-after', AXE);
  const drill = await lastDrill(ramp, { places: all, verdict: 'wash' });
  assert.equal(drill.body.difficulty, '3');
  const found = drill.body.places.filter((p) => p.object && p.answered === 'yes').length;
  const alarms = drill.body.places.filter((p) => !p.object && p.answered === 'yes').length;
  assert.equal(found + alarms, marked, 'every mark is a find or a false alarm');
  assert.equal(found, drill.body.places.filter((p) => p.object).length, `who does all and marks all misses nothing: ${JSON.stringify(drill.body.places.filter((p) => p.object))}`);
  await phone.kill();
});

/** A screen at the desk has no thumb to think of: clean by axe, no wider than the window, targets of 24 px at the least. */
async function atDesk(desk, name) {
  const { page } = desk;
  await page.locator('h1').first().waitFor();
  await page.screenshot({ path: path.join(shots, `${desk.prefix}-${name}.png`), fullPage: true });
  const { wide, small } = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth - innerWidth,
    small: [...document.querySelectorAll('.desk :is(button, select, summary)')]
      .map((e) => [e.textContent, e.getBoundingClientRect()])
      .filter(([, r]) => r.height > 0 && (r.height < 24 || r.width < 24))
      .map(([t]) => t),
  }));
  assert.ok(wide <= 0, `${name}: the page is ${wide} px too wide`);
  assert.deepEqual(small, [], `${name}: targets under their size`);
  await desk.axe(name);
}

for (const width of [1440, 360]) {
  test(`a drill at the desk, kept through the server, at ${width} px`, async () => {
    const phone = await w.phone({ width, height: width > 1000 ? 900 : 740 });
    const { page } = phone;
    const desk = new Ramp(phone, `practice-desk-${width}`);
    desk.pace = 0;
    const button = (name) => page.getByRole('button', { name }).first();
    await page.goto(`${w.url}/office/practice/craft`);
    await page.getByLabel('Login').fill('steward');
    await page.getByLabel('Password').fill('withy lakes demo');
    await page.keyboard.press('Enter');
    await button(/^Look over a craft/).waitFor();
    await atDesk(desk, 'first');
    await button(/^Look over a craft/).click();
    await atDesk(desk, 'choose');
    await button(/aluminium|fishing/i).click();
    await button(/^Begin the round/).click();
    await page.locator('.craft-picture img').waitFor();
    await button(/^Look$/).click();
    await page.locator('.tile[aria-pressed="true"]', { hasText: 'Look' }).waitFor();
    await atDesk(desk, 'place');
    await button(/^Nothing here, dry/).click();
    await button(/^Look$/).waitFor();
    const here = await page.locator('.leg-of').innerText();
    await page.reload();
    await button(/^Go on with your craft/).waitFor();
    await atDesk(desk, 'go-on');
    await button(/^Go on with your craft/).click();
    await button(/^End the round/).waitFor();
    assert.equal(await page.locator('.leg-of').innerText(), here, 'the same place as before the reload');
    await button(/^End the round/).click();
    await button(/^LAUNCH/i).click();
    await desk.heading('How it went');
    await page.getByText('On your record at the programme.').waitFor();
    await page.locator('.craft-picture img').waitFor();
    await atDesk(desk, 'after');
    const { week } = await page.evaluate(async () => (await fetch('/api/practice')).json());
    assert.equal(typeof week.dueNow, 'boolean');
    const { items } = await page.evaluate(async () => (await fetch('/api/subjects?kind=drill&limit=1000')).json());
    const last = items.sort((a, b) => (a.madeAt < b.madeAt ? -1 : 1)).at(-1);
    assert.equal(last.body.setup, 'open_aluminium_fishing');
    assert.equal(last.body.verdictGiven, 'launch');
    assert.equal(last.body.places.filter((p) => p.answered).length, 1);
    const guide = await page.evaluate(async () => {
      const r = await fetch('/api/handbook?class=canoe_kayak');
      return [r.status, r.headers.get('content-type'), (await r.text()).slice(0, 5)];
    });
    assert.deepEqual(guide, [200, 'application/pdf', '%PDF-']);
    await phone.kill();
  });
}
