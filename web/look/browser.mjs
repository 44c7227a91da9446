// What the tests of the pages share: a server of the real binary, a window in a real browser, a look at the page.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before } from 'node:test';
import { chromium } from 'playwright-core';

const here = import.meta.dirname;
const binary = process.env.THWART ?? path.join(here, '../../bin/thwart');
// The policy of the server's answers lets no foreign script in, so axe comes in as text that is evaluated.
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

// How long a test waits for what must come, in ms: a busy machine is slow, and only a thing that never comes is a fault.
const patience = 90_000;

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
export async function serve(name, ...flags) {
  const child = spawn(binary, ['serve', '--addr', '127.0.0.1:0', '--log', 'warn', '--dir', path.resolve(folder, name), ...flags]);
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
export async function open(t, width, url, more = {}) {
  const context = await browser.newContext({ viewport: { width, height: 800 }, ...more });
  context.setDefaultTimeout(patience);
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

// Who has signed in where, by the state of the window it left. A login may sign in ten times at once and once every ten
// seconds after that; tests on a fast machine come quicker.
const signedIn = new Map();

/**
 * A window of somebody signed in to the demo's office, the manager unless told otherwise, once the page is there. The first
 * window signs in by the form, as does any whose session has ended; the others go on with the session of the one before.
 */
export async function enter(t, width, url, login = 'marit', more = {}) {
  const who = `${login} at ${new URL(url).origin}`;
  const page = await open(t, width, url, { storageState: signedIn.get(who), ...more });
  await page.waitForSelector('#page h1, input[name=login]');
  if ((await page.locator('input[name=login]').count()) > 0) {
    await page.fill('input[name=login]', login);
    await page.fill('input[name=password]', 'withy lakes demo');
    const [answer] = await Promise.all([
      page.waitForResponse((r) => new URL(r.url()).pathname === '/api/sign-in' && r.request().method() === 'POST'),
      page.keyboard.press('Enter'),
    ]);
    assert.ok(answer.ok(), `signing in as ${who}: ${answer.status()} ${await answer.text()}`);
    await page.waitForSelector('#page h1');
    signedIn.set(who, { cookies: await page.context().cookies(), origins: [] });
  }
  return page;
}

/** Waits until nothing on a page of the office is still being read. */
export async function settled(page) {
  await page.waitForSelector('#page h1');
  await page.waitForFunction(() => ![...document.querySelectorAll('.state, .soon, [role=status]')].some((e) => /^Reading/.test(e.textContent)));
}

/** The office's pages that anybody may open without naming a record. */
export const officePages = [
  '/practice', '/practice/trials', '/practice/curricula', '/season',
  '/', '/settle', '/incidents', '/ledger', '/map', '/traffic', '/traffic/arrivals', '/traffic/sources', '/traffic/model', '/import',
  '/waters', '/launches', '/kit', '/people', '/phones', '/rules', '/rules/withy-lakes@2026.1',
  '/plan', '/plan/frontier', '/roster',
];

/** Counts by how much every page that is loaded from now on jumps while it is read (cumulative layout shift). */
export async function countJumps(page) {
  await page.addInitScript(() => {
    globalThis.jumps = 0;
    new PerformanceObserver((list) => {
      for (const e of list.getEntries()) if (!e.hadRecentInput) globalThis.jumps += e.value;
    }).observe({ type: 'layout-shift', buffered: true });
  });
}

/** How far the page jumped, when nothing that was asked for has been on its way for a moment. */
export const jumpsOf = (page) =>
  page.evaluate(async () => {
    for (let quiet = 0; quiet < 300; quiet += 50) {
      await new Promise((done) => setTimeout(done, 50));
      if (globalThis.onTheirWay > 0) quiet = 0;
    }
    return globalThis.jumps;
  });

/**
 * On every page that is loaded from now on each question to the server is answered late, by a time of its own between 30 and
 * 400 ms that its address alone decides: parts of a page are read in an order that is not theirs, and in the same one each
 * time. Turned round, what was first to be answered is the last. It is done in the page, since a browser whose traffic is
 * looked at from without keeps nothing of what it has loaded before.
 */
export async function answerUnevenly(page, { turned = false } = {}) {
  await page.addInitScript((backwards) => {
    const ask = globalThis.fetch;
    globalThis.onTheirWay = 0;
    globalThis.fetch = async (input, more) => {
      const { pathname, search } = new URL(input.url ?? input, location.href);
      if (pathname.startsWith('/api/')) {
        let hash = 0x811c9dc5; // FNV-1a
        for (const c of pathname + search) hash = Math.imul(hash ^ c.charCodeAt(0), 0x01000193) >>> 0;
        const late = hash % 371;
        globalThis.onTheirWay++;
        await new Promise((done) => setTimeout(done, 30 + (backwards ? 370 - late : late)));
        return ask(input, more).finally(() => globalThis.onTheirWay--);
      }
      return ask(input, more);
    };
  }, turned);
}

/** Looks at a page: clean by axe, no sideways scroll, targets of 24 px, headings in order. Pages that need a script say so. */
export async function look(page, what, { scripts = 0 } = {}) {
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
  assert.ok(seen.scripts <= scripts, `${what}: needs a script`);
  assert.equal(seen.headings[0], 1, `${what}: begins with its h1`);
  seen.headings.reduce((above, h) => (assert.ok(h <= above + 1 && (above === 0 || h > 1), `${what}: headings ${seen.headings}`), h), 0);
}

/** Presses Tab until the input has the focus, as somebody without a mouse does. Every stop on the way must be seen. */
export async function tabTo(page, selector) {
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

export async function type(page, selector, text) {
  await tabTo(page, selector);
  await page.keyboard.type(text);
}

/** Waits until the page says something; where it does not, what it says instead is told. */
export async function says(page, words) {
  const said = ([source, flags]) => new RegExp(source, flags).test(document.querySelector('#page').innerText);
  await page.waitForFunction(said, [words.source, words.flags]).catch(() => undefined);
  assert.match(await page.locator('#page').innerText(), words);
}
