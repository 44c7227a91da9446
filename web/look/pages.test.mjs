// Looks at the pages that the server itself shows, in a real browser against the real binary: clean by axe at WCAG 2.2 AA,
// no sideways scroll of the page, targets of 24 px, set-up and sign-in by keyboard alone. `make test-browser` runs it; alone it needs
// CHROMIUM (the browser) and optionally THWART (the binary, ../../bin/thwart when left out).
import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { look, open, serve, tabTo, type } from './browser.mjs';

const widths = [360, 1440];
const password = 'otter hammock lantern';

describe('the demo', () => {
  let demo;
  before(async () => { demo = await serve('demo', '--demo', '--scale', '0.02'); });

  for (const width of widths) {
    test(`/ at ${width} px`, async (t) => {
      const page = await open(t, width, demo.url);
      await look(page, '/');
      assert.match(await page.title(), /^Demo: /);
      const banner = await page.locator('.demo').boundingBox();
      assert.ok(banner.y < 100, 'the demo says so at the top');
      const table = page.locator('.wide');
      assert.equal(await table.evaluate((e) => e.scrollWidth > e.clientWidth), width < 600, 'the table scrolls inside its region where it has to');
      if (width < 600) {
        await tabTo(page, '.wide');
        await page.keyboard.press('ArrowRight');
        await page.waitForFunction(() => document.querySelector('.wide').scrollLeft > 0);
        await look(page, '/ with the table scrolled');
      }
    });

    test(`/api at ${width} px`, async (t) => {
      const page = await open(t, width, `${demo.url}/api`);
      await look(page, '/api');
      await page.getByRole('link', { name: 'EncounterDetail', exact: true }).first().click();
      await page.waitForURL('**/api/records/EncounterDetail');
      await look(page, '/api/records/EncounterDetail');
      assert.equal(await page.locator('h1').innerText(), 'EncounterDetail');
      await tabTo(page, '.wide');
      await tabTo(page, 'td a');
      await page.keyboard.press('Enter');
      await page.waitForURL((at) => /\/api\/records\/(?!EncounterDetail$)/.test(at.pathname));
      await look(page, 'a record of a record');
    });
  }

  test('signing in and out by keyboard', async (t) => {
    const page = await open(t, 1440, demo.url);
    await type(page, '#sign-in-login', 'marit');
    await type(page, '#sign-in-password', 'not the password');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.problems');
    await look(page, 'a refused sign-in');
    assert.match(await page.evaluate(() => document.activeElement.textContent), /do not fit together/, 'the focus is on what went wrong');
    assert.equal(await page.inputValue('#sign-in-login'), 'marit');
    await type(page, '#sign-in-password', 'withy lakes demo');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.who');
    assert.equal(new URL(page.url()).pathname, '/');
    await look(page, '/ signed in');
    await tabTo(page, '.who button');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#sign-in-login');
    assert.equal(await page.locator('.who').count(), 0);
  });
});

describe('a fresh programme', () => {
  for (const width of widths) {
    test(`set-up by keyboard at ${width} px`, async (t) => {
      const fresh = await serve(`fresh-${width}`, '--fresh');
      const page = await open(t, width, fresh.url);
      await look(page, 'the set-up form');
      await type(page, '#setup-code', 'AAAAA-BBBBB');
      await type(page, '#setup-name', 'Marit');
      await type(page, '#setup-login', 'marit');
      await type(page, '#setup-password', 'short');
      await page.keyboard.press('Enter');
      await page.waitForSelector('.problems');
      await look(page, 'the refused set-up form');
      assert.match(await page.title(), /^Problem: /);
      assert.match(await page.evaluate(() => document.activeElement.className), /problems/, 'the focus is on the list of problems');
      assert.deepEqual(await page.locator('input').evaluateAll((all) => all.map((e) => [e.name, e.value, e.getAttribute('aria-invalid')])),
        [['code', 'AAAAA-BBBBB', 'true'], ['name', 'Marit', null], ['login', 'marit', null], ['password', '', 'true']]);
      // The first link of the list leads into the field that is wrong.
      await tabTo(page, '.problems a');
      await page.keyboard.press('Enter');
      await page.waitForFunction(() => document.activeElement.id === 'setup-code');
      await page.keyboard.press('Control+A');
      await page.keyboard.type(fresh.code);
      await type(page, '#setup-password', password);
      await tabTo(page, 'form[action="/setup"] button');
      await page.keyboard.press('Enter');
      await page.waitForSelector('.who');
      assert.match(await page.locator('main').innerText(), /Nothing has been recorded yet/);
      await look(page, '/ of an empty programme, signed in');

      const stranger = await open(t, width, fresh.url);
      await look(stranger, '/ of a programme, not signed in');
      await stranger.fill('#sign-in-login', 'marit');
      await stranger.fill('#sign-in-password', password);
      await stranger.keyboard.press('Enter');
      await stranger.waitForSelector('.who');
    });
  }
});
