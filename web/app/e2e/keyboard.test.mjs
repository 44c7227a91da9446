// The ramp by keyboard alone: a clean canoe and a runabout with weed on its trailer. Each time the key Tab is pressed, what has focus has
// to be in sight, uncovered and marked; after each act focus stands at the top of the next screen. `make test-phone` runs it.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

let w;
let r;
before(async () => {
  w = await world();
  const phone = await w.phone();
  await phone.enrol();
  r = new Ramp(phone, 'keys');
});
after(async () => w?.close());

/** What has focus, and what is wrong with how it shows. */
function focus() {
  return r.page.evaluate(() => {
    const e = document.activeElement;
    const s = getComputedStyle(e);
    const box = e.getBoundingClientRect();
    const [x, y] = [box.left + box.width / 2, box.top + Math.min(box.height / 2, innerHeight / 3)];
    const top = document.elementFromPoint(x, y);
    const faults = [];
    if (s.outlineStyle === 'none' || Number.parseFloat(s.outlineWidth) < 2) faults.push(`no mark: ${s.outline}`);
    if (box.top < -1 || box.left < -1 || box.right > innerWidth + 1 || box.top > innerHeight) faults.push('out of sight');
    if (!top || !(e.contains(top) || top.contains(e))) faults.push(`covered by ${top?.className ?? 'nothing'}`);
    const name = (e.getAttribute('aria-label') ?? (e.labels?.[0] ?? e).textContent ?? '').replace(/\s+/g, ' ').trim();
    return { name, tag: e.tagName, work: e.matches('main.work'), faults };
  });
}

/** Tabs on until what is named has focus, then presses the key. */
async function press(name, key = 'Enter') {
  const way = [];
  for (let n = 0; n < 80; n++) {
    await r.page.keyboard.press('Tab');
    const f = await focus();
    if (f.tag === 'BODY') continue; // past the end, into the browser's own bar
    assert.deepEqual(f.faults, [], `focus on “${f.name}”`);
    way.push(f.name.slice(0, 30));
    const hit = typeof name === 'string' ? f.name === name : name.test(f.name);
    if (hit && f.tag !== 'MAIN') {
      await r.page.keyboard.press(key);
      await r.page.waitForTimeout(120);
      return way;
    }
  }
  return assert.fail(`no way by key to ${name}: ${way.join(' → ')}`);
}

/** Presses it, waits for what comes next, and finds focus at the top of that. */
async function on(name, next) {
  const way = await press(name);
  await next.waitFor();
  await r.page.waitForFunction(() => document.activeElement?.matches('main.work')).catch(async () => {
    assert.fail(`after ${name} focus is on ${JSON.stringify(await focus())}`);
  });
  return way;
}

const heading = (name) => r.page.getByRole('heading', { name }).first();
const button = (name) => r.page.getByRole('button', { name }).first();

async function ask(craft, go, next) {
  await on(/^Next boat/, heading('What came in?'));
  await on(craft, heading(/Which water/));
  await on(/^Brackenholt Lake/, heading(/When did it come out/));
  await on('A month or more', heading('How did it lie there?'));
  await on(/^For the day ?launched/, next);
  return go;
}

async function walkOn() {
  for (let n = 0; n < 40; n++) {
    await r.page.locator('.plate').or(button(/^Nothing (here|else)/)).or(button(/^(Pump ran|Every pump|Nothing runs)/)).first().waitFor();
    if (await r.page.locator('.plate').count()) return;
    const at = await r.page.locator('h1').innerText();
    const way = await press(/^(Nothing (here|else)|Pump ran|Every pump|Nothing runs)/);
    await r.page.waitForFunction((h) => document.querySelector('h1')?.innerText !== h, at);
    assert.ok((await focus()).work, 'focus at the top of the next stand');
    assert.ok(way.length < 30, `${way.length} keys to the answer: ${way.join(' → ')}`);
  }
  assert.fail('the walk has no end');
}

test('a shift and a clean canoe, from the first key to the receipt', async () => {
  await on('Start a shift', heading('Which launch?'));
  await on(/^Alder Point/, heading('Alder Point'));
  await press('Open the shift');
  await button(/^Next boat/).waitFor();
  await ask(/canoe/, undefined, button(/^Nothing here/));
  await walkOn();
  assert.equal(await r.verdict(), 'LAUNCH');
  await on(/^Let it launch/, heading('Your receipt'));
  await r.page.getByRole('img', { name: 'QR code of the receipt' }).waitFor();
  await press('Code in letters');
  await r.page.locator('.code-text').waitFor();
  await r.look('receipt');
  assert.equal((await r.last('inspection')).body.verdict.outcome, 'launch');
});

test('a runabout with weed: found, put right and looked at again', async () => {
  await ask(/runabout/, undefined, heading('First let it run'));
  await press(/^Drive is down/, 'Space');
  assert.match((await focus()).name, /^Drive is down/, 'a tick keeps the focus where it is');
  await press(/^Plugs are out/, 'Space');
  await on(/^Walk round/, button(/^Nothing here/));
  await on('Found', heading('Where is it?'));
  await on(/Axle/, button('Plant'));
  await on('Plant', heading('How much?'));
  await on('2 to 10', button(/^Nothing else/));
  await r.look('found');
  await walkOn();
  assert.equal(await r.verdict(), 'FIX HERE');
  await on(/^Fix it here/, heading(/has to come off/));
  await press(/^It is off/);
  await heading('All of it is done').waitFor();
  await press(/^See the verdict/);
  assert.equal(await r.verdict(), 'LAUNCH');
  await press('Undo');
  await r.page.getByText('FIX HERE').waitFor();
  await press(/^Fix it here/);
  await press(/^It is off/);
  await press(/^See the verdict/);
  await press(/^Let it launch/);
  await heading('Your receipt').waitFor();
  const { body } = await r.last('inspection');
  assert.deepEqual(body.inspection.findings.map((f) => [f.place, f.removed]), [['trailer.axle.port', 'all']]);
});
