// Works through what looks ahead in the office, in a real browser against the real binary: wishes that collide, which waters to watch,
// and a long computation that is stopped; and through the records behind what is shown: photos and figures. Pictures are kept in ../../out/ahead for whoever wants to look for themselves.
import assert from 'node:assert/strict';
import { mkdir } from 'node:fs/promises';
import path from 'node:path';
import { before, describe, test } from 'node:test';
import { look, serve, settled, enter as signIn } from './browser.mjs';

const shots = path.join(import.meta.dirname, '../../out/ahead');
const long = { timeout: 240_000 };

let demo;
before(async () => {
  await mkdir(shots, { recursive: true });
  demo = await serve('ahead', '--demo', '--scale', '0.1');
});

async function enter(t, width, at) {
  const page = await signIn(t, width, `${demo.url}/office${at}`);
  await settled(page);
  return page;
}

const shot = (page, name) => page.screenshot({ path: path.join(shots, `${name}.png`), fullPage: true });

/** Looks at a page as it is, at the widths of a desk and of a phone. */
async function atBoth(page, name) {
  for (const width of [1440, 360]) {
    await page.setViewportSize({ width, height: 800 });
    await look(page, `${name} at ${width} px`, { scripts: 6 });
    await shot(page, `${name}-${width}`);
  }
  await page.setViewportSize({ width: 1440, height: 800 });
}

describe('what looks ahead', () => {
  test('wishes that collide are named, with how far one would have to give way', async (t) => {
    const page = await enter(t, 1440, '/plan');
    await page.getByLabel('Hours of work (optional)').fill('200');
    await page.getByLabel('Points of the frontier (optional)').fill('0');
    await page.getByRole('button', { name: 'Add a launch' }).click();
    await page.getByLabel('Hours in the season').fill('900');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    const trouble = page.locator('.state.trouble');
    await trouble.waitFor(long);
    const words = await trouble.innerText();
    assert.match(words, /These wishes cannot all be kept/);
    assert.match(words, /at most 200 hours/);
    assert.match(words, /900/);
    await atBoth(page, 'plan-collides');
  });

  test('which waters to watch is told on the page of money against risk', async (t) => {
    const page = await enter(t, 1440, '/plan/frontier');
    await page.getByRole('button', { name: 'Show', exact: true }).click();
    await page.waitForSelector('section[aria-labelledby=watch] tbody tr', long);
    assert.ok((await page.locator('section[aria-labelledby=watch] tbody tr').count()) > 3);
    await atBoth(page, 'watch');
  });

  test('a long computation is stopped, says so, and can be started again', async (t) => {
    const page = await enter(t, 1440, '/spread');
    await page.getByLabel('Years', { exact: true }).fill('50');
    await page.getByLabel('Runs').selectOption('10000');
    await page.getByRole('button', { name: 'Run the years' }).click();
    await page.getByRole('button', { name: 'Stop it' }).click(long);
    await page.getByText('It was stopped.').waitFor(long);
    assert.ok(await page.getByRole('button', { name: 'Run the years' }).isEnabled());
    await atBoth(page, 'spread-stopped');
  });

  test('waits at a launch follow the day and the crew that are asked for, and a reload keeps both', async (t) => {
    const page = await enter(t, 1440, '/queue');
    const crews = page.locator('section[aria-labelledby=crews] tbody tr');
    await crews.first().waitFor(long);
    assert.ok((await crews.count()) > 1);
    // More people on the same day never make the wait that 95 % do not exceed longer.
    const head = await page.locator('section[aria-labelledby=crews] thead th').allInnerTexts();
    const at = head.findIndex((text) => text.includes('95 % wait at most'));
    assert.ok(at > 0, head.join());
    const waits = [];
    for (const row of await crews.all()) waits.push(Number.parseFloat((await row.locator('th, td').allInnerTexts())[at].replace(',', '')));
    assert.ok(waits.filter((w) => !Number.isNaN(w)).every((w, i, all) => i === 0 || w <= all[i - 1]), waits.join());
    await page.getByLabel('Stewards shown').selectOption('2');
    await page.getByRole('combobox', { name: 'Day', exact: true }).selectOption('weekday');
    await page.getByRole('img', { name: /Lanes of 2 stewards/ }).waitFor(long);
    await page.reload();
    await page.getByRole('img', { name: /Lanes of 2 stewards/ }).waitFor(long);
    assert.equal(await page.getByRole('combobox', { name: 'Day', exact: true }).inputValue(), 'weekday');
    await atBoth(page, 'queue');
  });

  test('a plan that was kept is held against nobody anywhere over the years, and its roster is repaired', async (t) => {
    const page = await enter(t, 1440, '/plan');
    if (!(await page.getByLabel('Hours of work (optional)').isVisible())) await page.getByText('What you have, and what must hold').click(); // a plan is there
    for (const old of await page.getByRole('button', { name: 'Take out' }).all()) await old.click(); // what must hold in the plan before
    await page.getByLabel('Hours of work (optional)').fill('900');
    await page.getByLabel('Points of the frontier (optional)').fill('0');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    await page.waitForSelector('.hours', long);
    await page.getByLabel('Name').fill('Nine hundred hours');
    await page.getByRole('button', { name: 'Keep this plan' }).click();
    await page.waitForSelector('[role=status].effect', long);

    // It is opened as it was, with its wishes; given another name; taken out with a reason, and put back.
    const said = await page.locator('.board').innerText();
    await page.getByText('What you have, and what must hold').click();
    await page.getByLabel('Hours of work (optional)').fill('450'); // and never asked for
    await page.getByRole('link', { name: 'Nine hundred hours' }).click();
    await page.getByRole('heading', { name: 'Nine hundred hours' }).waitFor();
    await page.reload();
    await page.getByRole('heading', { name: 'Nine hundred hours' }).waitFor();
    assert.equal(await page.locator('.board').innerText(), said);
    await page.getByText('What you have, and what must hold').click();
    assert.equal(await page.getByLabel('Hours of work (optional)').inputValue(), '900');
    await atBoth(page, 'plan-kept');
    await page.getByLabel('Name').fill('Nine hundred, first thoughts');
    await page.getByRole('button', { name: 'Give it this name' }).click();
    await page.getByRole('heading', { name: 'Nine hundred, first thoughts' }).waitFor();
    await page.getByLabel('Why it is taken out').fill('made twice');
    await page.getByRole('button', { name: 'Take this plan out' }).click();
    await page.getByRole('heading', { name: 'Nine hundred, first thoughts' }).waitFor({ state: 'detached' });
    await page.getByText('1 plan that was taken out').click();
    await page.getByText(/Nine hundred, first thoughts: taken out .* by .*\. Reason: made twice\./).waitFor();
    await atBoth(page, 'plan-taken-out');
    await page.getByRole('button', { name: 'Put it back: Nine hundred, first thoughts' }).click();
    await page.getByRole('link', { name: 'Nine hundred, first thoughts' }).click();
    await page.getByLabel('Name').fill('Nine hundred hours');
    await page.getByRole('button', { name: 'Give it this name' }).click();
    await page.getByRole('heading', { name: 'Nine hundred hours' }).waitFor();

    await page.goto(`${demo.url}/office/spread`);
    await settled(page);
    await page.getByLabel('Compared with nobody anywhere').selectOption({ label: 'Nine hundred hours' });
    await page.getByLabel('Runs').selectOption('500');
    await page.getByLabel('Take waters where nobody looked for clear (not safe)').check();
    await page.getByRole('button', { name: 'Run the years' }).click();
    await page.getByRole('heading', { name: /Year 10/ }).first().waitFor(long);
    await page.getByRole('combobox', { name: 'Show', exact: true }).selectOption({ label: 'with it: Nine hundred hours' });
    const last = page.locator('tr', { has: page.locator('th', { hasText: /^10$/ }) }).first();
    const [without, withPlan] = (await last.locator('td').allInnerTexts()).map(Number.parseFloat);
    assert.ok(without > 0 && withPlan > 0 && withPlan < without, `${without} without the plan, ${withPlan} with it`);
    await page.getByRole('button', { name: 'One year back' }).click();
    await page.getByRole('heading', { name: /Year 9/ }).first().waitFor();
    const names = await page.locator('section[aria-labelledby=chart] text').evaluateAll((texts) =>
      texts.filter((name) => getComputedStyle(name).visibility === 'visible').map((name) => ({ name: name.textContent, at: name.getBoundingClientRect() })));
    assert.ok(names.length > 3, `${names.length} names of waters on the map`);
    const apart = (a, b) => a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;
    const over = names.flatMap((a, i) => names.slice(i + 1).filter((b) => !apart(a.at, b.at)).map((b) => `${a.name} on ${b.name}`));
    assert.deepEqual(over, [], 'names of waters lie on each other');
    await atBoth(page, 'spread-kept');

    await page.goto(`${demo.url}/office/roster`);
    await settled(page);
    await page.getByLabel('First day').fill('2026-07-06');
    await page.getByLabel('Last day').fill('2026-07-12');
    await page.getByRole('button', { name: 'Make the roster' }).click();
    await page.waitForSelector('.week', long);
    await page.getByText('The week as a list').click();
    const tick = page.locator('details.list input[type=checkbox]').first();
    const who = await tick.getAttribute('aria-label');
    await tick.check();
    await page.getByText('Cannot come: 1.').waitFor();
    await page.getByRole('button', { name: 'Repair the roster' }).click();
    await page.getByText(/Changed from the one before: [1-9]/).waitFor(long);
    if (!(await page.locator('details.list').evaluate((d) => d.open))) await page.getByText('The week as a list').click();
    assert.equal(await page.getByLabel(who, { exact: true }).count(), 0, `${who}, who cannot come, still stands there`);
    await atBoth(page, 'roster-repaired');

    // One place is given to a person of the manager's choice: who may not have it is told with the reason, and what it breaks before it is given.
    const place = page.locator('.week .place:not(.open)').first();
    const holder = await place.innerText();
    const label = await place.getAttribute('aria-label');
    await place.focus();
    await page.keyboard.press('Enter');
    await page.waitForFunction((name) => document.activeElement.tagName === 'H2' && document.activeElement.innerText.startsWith(`The place of ${name}`), holder);
    await page.getByText(/others? may not, and why/).click();
    const reasons = page.getByRole('region', { name: 'Who may not have it, and why' }).locator('tbody tr td');
    assert.ok((await reasons.count()) > 0, 'somebody may not');
    for (const why of await reasons.allInnerTexts()) assert.match(why, /\.$/, 'each has a reason');
    await atBoth(page, 'roster-place');
    const give = page.getByRole('button', { name: /^Give the place to / }).first();
    const gets = (await give.getAttribute('aria-label')).replace('Give the place to ', '');
    await give.click();
    await page.getByText(`${gets} has the place of ${holder}:`).waitFor(long);
    await page.waitForFunction(() => document.activeElement.tagName === 'H2' && document.activeElement.innerText.startsWith('Roster from'));
    assert.equal(await page.getByLabel(label, { exact: true }).count(), 0, `${holder} still has the place`);
    assert.equal(await page.getByLabel(label.replace(holder, gets), { exact: true }).count(), 1, `${gets} has it`);
    assert.equal(await page.getByRole('link', { name: `iCalendar of ${holder}` }).count(), 1, 'whoever lost a shift still has a calendar that takes it back');
    await atBoth(page, 'roster-given');

    // Whoever has an older roster before them changes nothing, and is told that there is a later one.
    await page.getByRole('link', { name: /^Made / }).first().click();
    await page.waitForFunction(() => new URLSearchParams(location.search).has('made'));
    await page.getByLabel(label, { exact: true }).click();
    await page.getByRole('button', { name: /^Give the place to / }).first().click();
    await page.getByText('This roster was changed meanwhile').waitFor(long);

    // The one before it is not lost.
    await page.getByRole('link', { name: /^Made / }).last().click();
    await page.waitForFunction(() => new URLSearchParams(location.search).has('made'));
    await page.getByText('Roster from Jul 6, 2026 to Jul 12, 2026').waitFor();
    await page.waitForFunction(() => !document.querySelector('#page').innerText.includes('Changed from the one before'));
    await page.getByText('The week as a list').click();
    assert.equal(await page.getByLabel(who, { exact: true }).count(), 1, `${who} stands in the roster before the repair`);
  });

  test('money that stays unspent has its reason', async (t) => {
    const page = await enter(t, 1440, '/plan');
    const money = page.getByLabel('Money for the season (optional)');
    if (!(await money.isVisible())) await page.getByText('What you have, and what must hold').click();
    const presence = page.getByRole('button', { name: 'Take out' }); // of a plan made before
    while (await presence.count()) await presence.first().click();
    await money.fill('400000');
    await page.getByLabel('Hours of work (optional)').fill('900');
    await page.getByLabel('Points of the frontier (optional)').fill('0');
    await page.getByRole('button', { name: 'Make the plan' }).click();
    const why = page.getByRole('heading', { name: /^Why ([A-Z]{3} )?[\d,]+ of the money stays unspent$/ });
    await why.waitFor(long);
    assert.match(await page.locator('h3', { hasText: 'stays unspent' }).locator('+ ul').innerText(), /would go over the 900 hours of work: the plan works \d+, and the shortest of these takes \d+ more\./);
    await atBoth(page, 'plan-unspent');
  });
});

describe('the records behind what is shown', () => {
  /** Asks the server what the page's own sign-in may ask. */
  const asked = async (page, at, data) => {
    const { request } = page.context();
    const answer = await (data ? request.post(demo.url + at, { data, headers: { origin: demo.url } }) : request.get(demo.url + at));
    assert.ok(answer.ok(), `${at}: ${answer.status()}`);
    return answer.json();
  };

  test('a photo stands on its record, with what it is of', async (t) => {
    const page = await enter(t, 1440, '/ledger');
    const [row] = (await asked(page, '/api/encounters?limit=200')).items.filter((r) => r.findings > 0);
    const data = await page.screenshot({ clip: { x: 0, y: 0, width: 320, height: 240 } });
    const sent = await page.context().request.post(`${demo.url}/api/pictures`, { data, headers: { origin: demo.url, 'content-type': 'image/png' } });
    const { sha256, bytes, type } = await sent.json();
    await asked(page, '/api/subjects', { kind: 'photo', body: { encounter: row.subject, finding: 1, sha256, bytes, type } });
    await page.goto(`${demo.url}/office/ledger/${row.subject}`);
    await page.getByRole('heading', { name: 'Photos' }).waitFor();
    const photo = page.getByRole('img', { name: /^Photo of finding 1/ });
    await photo.scrollIntoViewIfNeeded();
    await page.waitForFunction(() => [...document.querySelectorAll('.photos img')].some((i) => i.complete && i.naturalWidth === 320));
    await atBoth(page, 'photo');
  });

  const all = (n) => `All ${n.toLocaleString('en')} that fit are here.`;

  test('a figure of the season leads to as many records as it counts, and says how it is computed', async (t) => {
    const page = await enter(t, 1440, '/season');
    const { figures } = await asked(page, '/api/season');
    const [met, found] = ['met', 'found'].map((id) => figures.find((f) => f.id === id));
    await page.locator('#page tr', { has: page.getByRole('rowheader', { name: found.label, exact: true }) }).getByRole('link').click();
    await page.getByText(all(found.x)).waitFor();
    await page.getByText(found.how).waitFor();
    await page.waitForFunction(() => document.querySelectorAll('.long-row .outcome').length > 3);
    await atBoth(page, 'behind');
    await page.getByLabel(/^With all it is a share of/).check();
    await page.getByText(all(found.n)).waitFor();
    await page.goto(`${demo.url}/office/season`);
    await page.locator('#page tr', { has: page.getByRole('rowheader', { name: met.label, exact: true }) }).getByRole('link').click();
    await page.getByText(all(met.value)).waitFor();
    await page.locator('.long-row a').first().click();
    await page.getByRole('heading', { name: 'How this record came to read as it does' }).or(page.locator('.history')).first().waitFor();
  });

  test('hours lead to their shifts and litres to their washes, and these to the craft', async (t) => {
    const page = await enter(t, 1440, '/season');
    const { figures } = await asked(page, '/api/season');
    const behind = async (id) => {
      const { label, value } = figures.find((f) => f.id === id);
      await page.goto(`${demo.url}/office/season`);
      await page.locator('#page tr', { has: page.getByRole('rowheader', { name: label, exact: true }) }).getByRole('link').click();
      return value;
    };
    const shifts = await behind('shifts');
    await page.getByText(all(shifts)).waitFor();
    await page.waitForFunction(() => [...document.querySelectorAll('.long-row')].some((r) => /demo/.test(r.children[2]?.textContent ?? '')));
    await atBoth(page, 'behind-shifts');
    const launch = (await page.locator('.long-row a').first().innerText()).replace(/^.*\d\d:\d\d /, '');
    await page.locator('.long-row').first().locator('[role=cell]').last().click();
    await page.waitForFunction((n) => [...document.querySelectorAll('.long-row')].length > 0 && [...document.querySelectorAll('.long-row')].every((r) => r.children[1].textContent === n), launch);
    await behind('wash_water');
    await page.waitForFunction(() => [...document.querySelectorAll('.long-row')].some((r) => Number(r.children[2]?.textContent) > 0));
    await atBoth(page, 'behind-washes');
    await page.locator('.long-row a').first().click();
    await page.locator('.history').first().waitFor();
  });
});
