// Whole boats on the screens of the ramp: no network, the processor slowed four times, both sizes of phone. Each script asserts what is
// in the phone's store afterwards. `make test-phone` runs it; alone it needs CHROMIUM and a built ../../bin/thwart (or THWART).
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { sizes, world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

let w;
before(async () => {
  w = await world();
});
after(async () => w?.close());

/** A phone of the demo that has fetched everything, then has no network and a slow processor. */
async function atTheRamp(size, name, { launch = 'Alder Point', unit, ...weather } = {}) {
  w.line.through = () => undefined;
  const phone = await w.phone(size);
  await phone.enrol();
  const ramp = new Ramp(phone, `${size.width}-${name}`);
  await phone.context.setOffline(true);
  ramp.rate = 4;
  await ramp.slow(4);
  await ramp.openShift(launch, unit, weather);
  return ramp;
}

for (const size of sizes) {
  describe(`at ${size.width} × ${size.height} px`, () => {
    test('a clean canoe: at most 12 taps, nothing typed', async () => {
      const r = await atTheRamp(size, 'canoe');
      await r.look('home');
      r.taps = 0;
      await r.tap(/^Next boat/);
      await r.look('craft');
      await r.tap(/canoe/);
      await r.look('water');
      await r.tap(/^Grindle Pond|^Brackenholt Lake/);
      await r.look('out');
      await r.tap('A month or more');
      await r.look('stay');
      await r.tap(/^For the day launched/);
      await r.look('walk');
      await r.walkOn();
      assert.equal(await r.verdict(), 'LAUNCH');
      await r.look('verdict');
      await r.tap(/^Let it launch/);
      await r.heading('Your receipt');
      await r.page.getByRole('img', { name: 'QR code of the receipt' }).waitFor();
      await r.look('receipt');
      assert.ok(r.taps <= 12, `${r.taps} taps`);
      assert.equal(r.typed, 0);
      // Nobody tapped an air, so nobody said one.
      assert.equal((await r.last('shift')).body.weather, undefined);
      const receipt = await r.last('receipt');
      assert.match(receipt.body.code, /^[0-9A-Z $%*+./:-]+$/);
      assert.equal(receipt.body.outcome, 'launch');
      const { body, state } = await r.last('inspection');
      assert.equal(state, 'onPhone');
      assert.equal(body.verdict.outcome, 'launch');
      assert.equal(body.inspection.setup.class, 'canoe_kayak');
      assert.equal(body.inspection.checks.length, body.verdict.places);
      assert.ok(body.inspection.checks.every((c) => c.looked === 'yes' && c.wet === 'dry'));
      assert.ok(body.inspection.endedAt > body.inspection.startedAt);
      await r.phone.kill();
    });

    test('a runabout with weed on the trailer: found, taken off, looked at again', async () => {
      const r = await atTheRamp(size, 'runabout');
      await r.ask({ craft: /runabout/, water: /^Brackenholt Lake/, out: 'A week or more', stay: /^For the day launched/ });
      await r.look('prompt');
      await r.tap(/^Drive is down/);
      await r.tap(/^Plugs are out/);
      await r.tap(/^Walk round/);
      await r.tap(/^Found/);
      await r.look('where');
      const before = r.taps;
      await r.tap(/^5 Axle|Axle/);
      await r.look('what');
      await r.tap('Plant');
      await r.look('how-much');
      await r.tap('2 to 10');
      assert.ok(r.taps - before <= 5, 'a find takes at most six taps, the first included');
      await r.look('found');
      await r.walkOn();
      assert.equal(await r.verdict(), 'FIX HERE');
      await r.look('verdict');
      await r.tap(/^Fix it here/);
      await r.look('fix');
      await r.tap(/^It is off/);
      await r.tap(/See the verdict/);
      assert.equal(await r.verdict(), 'LAUNCH');
      await r.tap(/^Let it launch/);
      await r.heading('Your receipt');
      await r.tap(/^The boat$/);
      await r.page.getByText('Saved on this phone').waitFor();
      await r.look('done');
      await r.tap('Show the boater');
      await r.page.locator('.boater').waitFor();
      await r.look('card');
      await r.tap('Español');
      await r.page.locator('[lang=es] .plate-word').waitFor();
      await r.look('card-es');
      const { body } = await r.last('inspection');
      assert.equal(body.verdict.outcome, 'launch');
      assert.deepEqual(
        body.inspection.findings.map((f) => [f.place, f.matter, f.amount, f.removed]),
        [['trailer.axle.port', 'plant', '2-10', 'all']],
      );
      assert.equal(body.inspection.driveLowered, 'yes');
      assert.equal(body.inspection.plugsOut, 'yes');
      await r.phone.kill();
    });

    test('a wake boat with ballast from a water with mussels goes to the wash', async () => {
      const r = await atTheRamp(size, 'wake', { unit: 1 });
      await r.ask({ craft: /wake or ski/, type: 'owlmer', water: /^Owlmere/, out: /^2 days ago/, stay: /^For days/ });
      await r.tap(/^Plugs are out/);
      await r.tap(/^Walk round/);
      await r.look('leg');
      await r.walkOn({ hidden: /^Not so, or not sure|^Water still runs/ });
      assert.equal(await r.verdict(), 'WASH');
      // The owner was asked about the ballast pumps once, for every place that they empty.
      const { acts } = await r.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().find((d) => d.value.kind === 'boat').value);
      const pumps = acts.flatMap((a) => (a.do === 'checks' && a.checks.some((c) => c.place.startsWith('ballast')) ? [a.checks.map((c) => c.place)] : []));
      assert.equal(pumps.length, 1);
      assert.deepEqual(pumps[0].toSorted(), ['ballast.plumbing', 'ballast_tank.1', 'ballast_tank.2', 'ballast_tank.3']);
      await r.look('verdict');
      await r.tap(/^To the wash/);
      await r.heading('What the wash takes');
      await r.button(/^Start the wash/).waitFor();
      await r.look('offer');
      await r.tap(/^Start the wash/);
      await r.look('cautions');
      await r.tap(/^I have read this/);
      await r.look('steps');
      const { body } = await r.last('inspection');
      assert.equal(body.verdict.outcome, 'wash');
      assert.ok(body.verdict.reasons.some((x) => x.code === 'hidden_counts_wet' && x.place.startsWith('ballast_tank')));
      assert.ok(body.inspection.checks.filter((c) => c.place.startsWith('ballast')).every((c) => c.ranDry === 'no' && c.wet === 'water'));
      assert.deepEqual(
        body.inspection.lastWaters.map((v) => v.water),
        [await r.water('Owlmere Reservoir')],
      );
      await r.phone.kill();
    });
  });
}

test('a refusal: at most four taps, nothing of the person, never a pass', async () => {
  const r = await atTheRamp(sizes[0], 'refusal');
  r.taps = 0;
  await r.tap(/^Next boat/);
  await r.tap('Says no');
  await r.look('script');
  await r.tap('No time');
  await r.page.locator('.plate-hold').waitFor();
  await r.look('kept');
  assert.ok(r.taps <= 4);
  const { body } = await r.last('inspection');
  assert.equal(body.inspection.refused, true);
  assert.equal(body.verdict.outcome, 'hold');
  assert.equal(body.mark, undefined);
  // Nothing was looked at: no receipt of a look, no day to wait for, no second look. The boater may agree after all.
  const offers = await r.offers();
  assert.deepEqual(offers.filter((o) => /dry|Receipt|Look at it|wash/i.test(o)), [], offers.join(' | '));
  await r.at(`boat/${(await r.last('inspection')).subject}/dry`);
  await r.page.locator('.plate-hold').waitFor();
  await r.at(`boat/${(await r.last('inspection')).subject}`);
  await r.tap(/^Take it back/);
  await r.heading('What came in?');
  await r.look('agreed');
  await r.tap('Undo');
  await r.page.locator('.plate-hold').waitFor();
  await r.tap(/^Take it back/);
  await r.tap(/canoe/);
  await r.tap(/^Brackenholt Lake/);
  await r.tap('A month or more');
  await r.tap(/^For the day launched/);
  await r.walkOn();
  assert.equal(await r.verdict(), 'LAUNCH');
  await r.tap(/^Let it launch/);
  await r.heading('Your receipt');
  const chain = await r.records('inspection');
  assert.deepEqual(chain.map((e) => [e.body.inspection.refused, e.body.verdict.outcome]), [[true, 'hold'], [undefined, 'launch']]);
  assert.equal(chain[1].supersedes, chain[0].id);
  await r.phone.kill();
});

test('a burner at 49 °C: no step is met by it, and the choices are said', async () => {
  const r = await atTheRamp(sizes[0], 'burner', { unit: 1 });
  await r.ask({ craft: /runabout/, type: 'Owlmere', water: /^Owlmere/, out: /^Yesterday/, stay: /^For days/ });
  await r.tap(/^Drive is down/);
  await r.tap(/^Plugs are out/);
  await r.tap(/^Walk round/);
  await r.walkOn();
  assert.equal(await r.verdict(), 'WASH');
  await r.tap(/^To the wash/);
  await r.tap(/^Start the wash/);
  await r.tap(/^I have read this/);
  let heat = 0;
  for (let n = 0; n < 40; n++) {
    const step = r.button(/^Step \d+/);
    const hand = r.page.getByRole('button', { name: 'Done', exact: true });
    const surface = r.button('At the surface');
    const finish = r.button(/^Finish the wash/);
    await step.or(hand).or(surface).or(finish).first().waitFor();
    if (await finish.count()) break;
    if (await step.count()) await r.tap(/^Step \d+/);
    else if (await hand.count()) await r.tap(/^Done$/);
    else if (await surface.count()) {
      heat += 1;
      // Before the water runs, what to mind at this step stands in words where it is seen without a scroll.
      const mind = await r.page.locator('details.mind[open] .caution p').first().boundingBox();
      const acts = await r.page.locator('.acts').boundingBox();
      assert.ok(mind && mind.y < acts.y, `step ${heat}: ${JSON.stringify(mind)} over ${JSON.stringify(acts)}`);
      if (heat === 2) {
        // Nothing was answered here yet: the undo shows the step whose end it takes back.
        const here = await r.page.evaluate(() => location.hash);
        const last = await r.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().find((d) => d.value.kind === 'wash').value.acts.at(-1));
        await r.tap('Undo');
        await r.page.waitForFunction((n) => location.hash.endsWith(`/${n}`), last.step);
        assert.notEqual(await r.page.evaluate(() => location.hash), here);
        await r.tap(/^(What may be done now|Done)/);
        if (last.outcome !== 'done') await r.tap(/^End it: not possible/);
        await r.page.waitForFunction((h) => location.hash === h, here);
      }
      await r.tap('At the surface');
      if (heat === 1) {
        await r.fill('Water temperature', '600');
        await r.tap('Keep the reading');
        await r.page.getByText('Enter a water temperature between 0 °C and 100 °C. You entered 600.').waitFor();
        await r.look('range');
      }
      await r.fill('Water temperature', '49');
      await r.tap('Keep the reading');
      await r.page.getByText(/Too cold|Does not count/).first().waitFor();
      assert.equal(await r.page.locator('details.mind[open]').count(), 0, 'once it runs, the clock stands first');
      if (heat === 1) await r.look('too-cold');
      assert.equal(await r.page.getByRole('button', { name: /^Met/ }).count(), 0);
      await r.tap(/^What may be done now/);
      await r.page.getByText('A longer time never makes up').waitFor();
      if (heat === 1) await r.look('choices');
      await r.tap(/^End it: not possible/);
    }
  }
  assert.ok(heat >= 3, `${heat} steps with heat`);
  await r.page.getByText('The craft does not launch on this wash').waitFor();
  await r.look('short');
  await r.tap(/^Finish the wash/);
  await r.page.locator('.plate-wash').waitFor();
  const { body } = await r.last('wash');
  assert.ok(body.steps.length >= 3);
  for (const s of body.steps) {
    assert.equal(s.outcome, 'not_possible');
    assert.ok(s.why.length > 10);
    assert.notEqual(s.proof.protocol, 'met');
  }
  await r.phone.kill();
});

test('two boats at once, and a battery that dies in the middle', async () => {
  const r = await atTheRamp(sizes[0], 'two');
  await r.ask({ craft: /runabout/, water: /^Brackenholt Lake/, out: 'A month or more', stay: /^For the day launched/ });
  await r.tap(/^Drive is down/);
  await r.tap(/^Plugs are out/);
  // Boat A drains; boat B is asked and walked meanwhile.
  await r.tap(/^1 boat/);
  await r.ask({ craft: /canoe/, water: /^Brackenholt Lake/, out: 'A month or more', stay: /^For the day launched/ });
  await r.tap(/^Nothing here/);
  await r.home();
  await r.look('open-boats');
  await r.tap(/Go on with: runabout/);
  await r.tap(/^Walk round/);
  await r.tap(/^Nothing here/);
  await r.tap(/^Nothing here/);
  const title = await r.page.locator('h1').innerText();
  const before = await r.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().filter((d) => d.value.kind === 'boat').map((d) => d.value));
  await r.phone.kill();
  await r.phone.open();
  r.cdp = undefined;
  await r.phone.context.setOffline(true);
  await r.slow(4);
  await r.page.locator('.leg-head').waitFor();
  assert.equal(await r.page.locator('h1').innerText(), title, 'the same boat at the same stop');
  const after_ = await r.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().filter((d) => d.value.kind === 'boat').map((d) => d.value));
  assert.deepEqual(after_, before);
  await r.tap('Undo');
  await r.tap(/^Nothing here/);
  await r.walkOn();
  assert.equal(await r.verdict(), 'LAUNCH');
  await r.tap(/^Let it launch/);
  await r.home();
  await r.tap(/Go on with: canoe/);
  await r.walkOn();
  await r.tap(/^Let it launch/);
  await r.heading('Your receipt');
  const kept = await r.records('inspection');
  assert.deepEqual(kept.map((e) => e.body.inspection.setup.class).sort(), ['canoe_kayak', 'runabout']);
  assert.ok(kept.every((e) => e.body.verdict.outcome === 'launch' && e.body.verdict.settled === e.body.verdict.places));
  await r.phone.kill();
});

test('rain is kept in the shift’s weather without an air, and the air without a word on rain', async () => {
  for (const [said, kept] of [[{ rain: 'Rain or spray' }, { wet: true }], [{ rain: 'No rain' }, { wet: false }], [{ air: 'Cold' }, { airC: 5, rhPct: 80 }]]) {
    const r = await atTheRamp(sizes[0], 'weather', said);
    assert.deepEqual((await r.last('shift')).body.weather, kept);
    await r.tap(/^Close the shift/);
    await r.tap('There was no clicker');
    await r.tap('Close the shift');
    await r.page.getByText('What is kept where').waitFor();
    assert.deepEqual((await r.last('shift')).body.weather, kept, 'as it was closed');
    // What was said that day is not said of the next.
    await r.at('shift');
    await r.page.getByText('Not said is not known').waitFor();
    assert.equal(await r.page.locator('fieldset [aria-pressed=true]').count(), 0);
    const [air, rain] = await r.page.locator('fieldset .tiles').evaluateAll((all) => all.map((e) => e.getBoundingClientRect()));
    assert.ok(rain.top - air.bottom >= 8, `${rain.top - air.bottom} px between the air and the rain`);
    await r.look('weather-unsaid');
    await r.phone.kill();
  }
});

test('the pictures of craft stand where they stood, whatever came in since', async () => {
  const r = await atTheRamp(sizes[0], 'pictures');
  const pictures = async () => {
    await r.home();
    await r.tap(/^Next boat/);
    await r.heading('What came in?');
    return r.page.locator('.craft .tile').allInnerTexts();
  };
  const first = await pictures();
  assert.equal(first.length, 6);
  await r.tap(/more kinds/);
  await r.page.locator('.craft .tile').nth(6).waitFor();
  const [rare] = (await r.page.locator('.craft .tile').allInnerTexts()).slice(-1);
  for (let n = 0; n < 2; n++) {
    await r.page.locator('.craft .tile').filter({ hasText: rare }).first().tap();
    await r.heading('Which water was it in last?');
    assert.deepEqual(await pictures(), first);
    await r.tap(/more kinds/);
    await r.page.locator('.craft .tile').nth(6).waitFor();
  }
  await r.phone.kill();
});

test('a slip is put right where it was made, and what was answered before stays', async () => {
  const r = await atTheRamp(sizes[0], 'slips');
  const drafts = () => r.page.evaluate(() => globalThis.thwartRamp.local.loadDrafts().filter((d) => d.value.kind === 'boat').map((d) => d.value));
  const acts = async () => (await drafts())[0].acts.map((a) => a.do);
  // "Says no", and the boater agrees after all: no boat is left open by it.
  await r.tap(/^Next boat/);
  await r.tap('Says no');
  await r.heading('The boater says no');
  await r.tap('Undo');
  await r.heading('What came in?');
  assert.deepEqual(await drafts(), []);
  // The wrong picture: the right one takes its place, in the same boat.
  await r.tap(/bass boat/);
  await r.heading('Which water was it in last?');
  await r.tap('Undo');
  await r.heading('What came in?');
  await r.tap(/canoe/);
  await r.tap('Not sure');
  assert.deepEqual(await acts(), ['craft', 'water']);
  assert.equal((await drafts()).length, 1);
  // A find that is half given: the undo steps back in it, as Back does, and takes nothing kept before.
  await r.tap(/^Nothing here/);
  await r.tap(/^Found/);
  await r.page.locator('.work .tile').first().tap();
  await r.tap(/^Shell or animal/);
  await r.tap(/^Not sure/);
  await r.tap('2 to 10');
  for (const title of ['How much?', 'Which one?']) {
    await r.tap('Undo');
    await r.heading(title);
  }
  await r.tap('Undo');
  await r.button('Bait').waitFor();
  await r.tap('Undo');
  await r.heading('Where is it?');
  await r.tap('Undo');
  await r.button('Found').waitFor();
  assert.deepEqual(await acts(), ['craft', 'water', 'checks']);
  for (const [act, back] of [[/^Wet/, 'Where is it wet?'], [/^Could not check/, 'What could not be checked?']]) {
    await r.tap(act);
    await r.page.locator('.work .tile').first().tap();
    await r.page.waitForTimeout(r.pace);
    await r.tap('Undo');
    await r.heading(back);
    await r.tap('Undo');
    await r.button('Found').waitFor();
  }
  assert.deepEqual(await acts(), ['craft', 'water', 'checks']);
  // A find entered by mistake is taken out, and a place that could be checked after all loses its reason.
  await r.tap(/^Found/);
  await r.page.locator('.work .tile').first().tap();
  await r.page.waitForTimeout(r.pace);
  await r.tap('Plant');
  await r.tap('One');
  await r.look('found-by-mistake');
  await r.tap('Entered by mistake: take it out');
  await r.tap(/^Could not check/);
  await r.page.locator('.work .tile').first().tap();
  await r.page.waitForTimeout(r.pace);
  await r.tap('No time');
  await r.tap(/^Wet/);
  await r.page.locator('.work .tile').first().tap();
  await r.page.waitForTimeout(r.pace);
  await r.tap('Dry after all');
  await r.walkOn();
  await r.tap(/^(Let it|Call it|To the wash)/);
  await r.page.waitForFunction(() => globalThis.thwartRamp.local.records('inspection').length > 0);
  const { body } = await r.last('inspection');
  assert.equal(body.inspection.findings, undefined);
  assert.ok(body.inspection.checks.every((c) => c.looked === 'yes' && c.wet === 'dry' && !c.reason));
  // Opened again and left as it was: it is no open boat, and the record stays the only one.
  await r.home();
  await r.tap(/boat of this shift$/);
  await r.tap(/^canoe/);
  await r.tap(/^Take it back/);
  await r.page.locator('.plate').waitFor();
  await r.tap('Undo');
  await r.page.getByText('Saved on this phone.').first().waitFor();
  assert.deepEqual(await drafts(), []);
  assert.equal((await r.records('inspection')).length, 1);
  // A shift without a clicker can be closed, and says none.
  await r.home();
  await r.tap('Close the shift');
  await r.page.getByText('Type what the clicker shows, or say that there was none.').waitFor();
  assert.ok(await r.button('Close the shift').isDisabled());
  await r.tap('There was no clicker');
  await r.look('no-clicker', { axeToo: true });
  await r.tap('Close the shift');
  await r.page.getByText('What is kept where').waitFor();
  assert.equal((await r.last('shift')).body.clicker, undefined);
  await r.phone.kill();
});

test('taken back within ten minutes, corrected, counted, called in, closed', async () => {
  const r = await atTheRamp(sizes[0], 'shift', { air: 'Warm', rain: 'No rain' });
  await r.ask({ craft: /canoe/, water: /^Brackenholt Lake/, out: 'A month or more', stay: /^For the day launched/ });
  await r.tap(/^Could not check/);
  await r.tap(/^All \d+/);
  await r.look('why-not');
  await r.tap('Not safe to reach');
  await r.walkOn();
  assert.notEqual(await r.verdict(), 'LAUNCH', 'what was not checked is no pass');
  await r.look('unchecked');
  for (let n = 0; n < 3; n++) await r.tap('Undo');
  await r.walkOn();
  assert.equal(await r.verdict(), 'LAUNCH');
  await r.tap(/^Let it launch/);
  await r.tap(/^The boat$/);
  await r.tap(/^Take it back/);
  await r.tap(/^Let it launch/);
  await r.heading('Your receipt');
  const chain = await r.records('inspection');
  assert.equal(chain.length, 2);
  assert.equal(chain[1].supersedes, chain[0].id);
  assert.equal(chain[1].subject, chain[0].subject);
  assert.match(chain[1].why, /ten minutes/);
  // An incident is three taps from any screen.
  await r.home();
  r.taps = 0;
  await r.tap('Call, help');
  await r.look('help');
  await r.tap(/^Raise an incident/);
  await r.look('incident');
  await r.tap('A threat');
  await r.heading('A threat');
  assert.ok(r.taps <= 3);
  await r.look('raised');
  assert.equal((await r.last('incident')).body.what, 'A threat');
  await r.home();
  await r.tap(/^Count passers-by/);
  await r.tap(/^Passed by/);
  await r.tap(/^Passed by/);
  await r.look('tally');
  await r.tap(/^Keep the count/);
  assert.equal((await r.last('tally')).body.passedBy, 2);
  await r.tap(/^Close the shift/);
  await r.fill('Hand clicker shows', '9');
  await r.page.getByText('The clicker shows 9, the records 3. Why?').waitFor();
  await r.look('close');
  assert.ok(await r.button('Close the shift').isDisabled());
  await r.fill('Hand clicker shows', '3');
  await r.tap('Close the shift');
  await r.page.getByText('What is kept where').waitFor();
  await r.look('kept');
  const shift = await r.last('shift');
  assert.equal(shift.body.clicker, 3);
  assert.ok(shift.body.to > shift.body.from);
  // The weather that was said stands in the record of the shift as it began and as it was closed.
  for (const { body } of await r.records('shift')) assert.deepEqual(body.weather, { airC: 24, rhPct: 55, wet: false });
  await r.phone.kill();
});
