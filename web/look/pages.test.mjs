// Looks at the pages that the server itself shows, in a real browser against the real binary: clean by axe at WCAG 2.2 AA,
// no sideways scroll of the page, targets of 24 px, set-up and sign-in by keyboard alone. `make test-browser` runs it; alone it needs
// CHROMIUM (the browser) and optionally THWART (the binary, ../../bin/thwart when left out).
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, test } from 'node:test';
import { chromium } from 'playwright-core';

const here = import.meta.dirname;
const binary = process.env.THWART ?? path.join(here, '../../bin/thwart');
const widths = [360, 1440];
const password = 'otter hammock lantern';
// The policy of the server's answers lets no foreign script in, so axe comes in as text that is evaluated.
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let browser;
let folder;
const servers = [];

before(async () => {
  assert.ok(process.env.CHROMIUM, 'CHROMIUM is not set; accepted: the path of a Chromium or Chrome');
  folder = await mkdtemp(path.join(tmpdir(), 'thwart-look-'));
  // Chromium refuses its sandbox to root, which containers often are; only pages of our own are opened.
  const args = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args });
});

after(async () => {
  await browser?.close();
  for (const s of servers) {
    s.kill('SIGTERM');
    if (s.exitCode === null) await once(s, 'exit');
  }
  if (folder) await rm(folder, { recursive: true, force: true });
});

/** Starts a server on a free port and waits for its greeting. */
async function serve(name, ...flags) {
  const child = spawn(binary, ['serve', '--addr', '127.0.0.1:0', '--log', 'warn', '--dir', path.join(folder, name), ...flags]);
  servers.push(child);
  let said = '';
  const greeting = new Promise((resolve, reject) => {
    child.stdout.on('data', (d) => {
      said += d;
      if (/^Open (\S+)\n/m.test(said)) resolve();
    });
    child.stderr.on('data', (d) => (said += d));
    child.on('error', reject);
    child.on('exit', (code) => reject(new Error(`${binary} ended with ${code}: ${said}`)));
  });
  await greeting;
  return { url: /^Open (\S+)$/m.exec(said)[1], code: /^ {4}(\S+)$/m.exec(said)?.[1] };
}

/** A window of one width, with its own cookies; anything that the page complains about fails the test at the end. */
async function open(t, width, url) {
  const context = await browser.newContext({ viewport: { width, height: 800 } });
  const page = await context.newPage();
  const complaints = [];
  page.on('pageerror', (e) => complaints.push(String(e)));
  page.on('console', (m) => {
    // The browser notes every answer of 400 and above; a refused form is one on purpose.
    if (m.type() === 'error' && !/Failed to load resource.*status of (40[13]|409|422)/.test(m.text())) complaints.push(m.text());
  });
  t.after(async () => {
    await context.close();
    assert.deepEqual(complaints, []);
  });
  await page.goto(url);
  return page;
}

async function look(page, what) {
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() =>
    globalThis.axe.run(document, { runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] } }));
  assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`), [], `${what}: axe`);
  assert.ok(passes.length > 10, `${what}: axe looked at ${passes.length} rules only`);
  const seen = await page.evaluate(() => ({
    sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth,
    headings: [...document.querySelectorAll('h1, h2, h3, h4')].map((h) => Number(h.tagName[1])),
    landmarks: ['header', 'main'].filter((l) => document.querySelectorAll(l).length !== 1),
    small: [...document.querySelectorAll('button, input, summary, li > a')]
      .filter((e) => e.getClientRects().length > 0 && (e.getBoundingClientRect().height < 24 || e.getBoundingClientRect().width < 24))
      .map((e) => e.outerHTML),
    scripts: document.scripts.length,
  }));
  assert.equal(seen.sideways, 0, `${what}: the page scrolls sideways`);
  assert.deepEqual(seen.landmarks, [], `${what}: one header and one main`);
  assert.deepEqual(seen.small, [], `${what}: targets below 24 px`);
  assert.equal(seen.scripts, 0, `${what}: needs a script`);
  assert.equal(seen.headings[0], 1, `${what}: begins with its h1`);
  seen.headings.reduce((above, h) => (assert.ok(h <= above + 1 && (above === 0 || h > 1), `${what}: headings ${seen.headings}`), h), 0);
}

/** Presses Tab until the input has the focus, as somebody without a mouse does. Every stop on the way must be seen. */
async function tabTo(page, selector) {
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate((s) => {
      const e = document.activeElement;
      const style = getComputedStyle(e);
      return { here: e.matches(s), outlined: e === document.body || (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2), what: e.outerHTML.slice(0, 120) };
    }, selector);
    assert.ok(at.outlined, `the focus cannot be seen on ${at.what}`);
    if (at.here) return;
  }
  assert.fail(`40 presses of Tab do not reach ${selector}`);
}

async function type(page, selector, text) {
  await tabTo(page, selector);
  await page.keyboard.type(text);
}

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
      await page.locator('a[href^="#schema-"]').first().click();
      await page.waitForFunction(() => document.querySelector('details[open]'));
      await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
      await look(page, '/api with everything open');
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
