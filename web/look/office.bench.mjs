// Measures the office over a programme of any size, in a real browser against the real binary: every page at the widths of a desk
// and of a tablet, and the ledger's filters, sorting and scrolling. `make bench-office` runs it over a million inspections; alone it
// needs CHROMIUM, and THWART_LOOK_DIR, the folder of a demo. A page that complains, shows trouble, is not clean by axe or is not there within
// two minutes fails; how long it took is told and not held against the clock, as all benchmarks are. THWART_SHOTS is a folder for a
// picture of every page.
import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { countJumps, jumpsOf, look, officePages, serve, enter as signIn } from './browser.mjs';

const patience = 120_000;
let big;

before(async () => {
  assert.ok(process.env.THWART_LOOK_DIR, 'THWART_LOOK_DIR is not set; accepted: the folder of a demo, such as go run ./internal/bigdemo makes');
  const from = performance.now();
  big = await serve(process.env.THWART_LOOK_DIR, '--demo');
  tell('the server answers after', seconds(performance.now() - from));
});

/** Tells a figure at once, as a row of a table, so that a run that is broken off is not lost. */
const tell = (...cells) => console.log(`| ${cells.join(' | ')} |`);

const seconds = (ms) => `${(ms / 1000).toFixed(ms < 1000 ? 2 : 1)} s`;
const enter = (t, width, at) => signIn(t, width, `${big.url}/office${at}`);
const asked = async (page, at) => (await page.context().request.get(`${big.url}${at}`, { timeout: patience })).json();

/** Pages that are about one record, of records that are there. */
async function ofRecords(page) {
  const first = async (kind) => (await asked(page, `/api/subjects?kind=${kind}&limit=1`)).items[0].subject;
  const [craft] = (await asked(page, '/api/encounters?limit=1')).items;
  return [
    `/ledger/${craft.subject}`, `/waters/${await first('water')}`, `/launches/${await first('launch')}`, `/people/${await first('person')}`, `/kit/${await first('unit')}`,
    '/season?from=2026-05-01&to=2026-09-30', '/season/records?figure=refused', '/queue', '/spread',
  ];
}

/** Opens a page and gives when it first showed something of its own, when nothing of it was being read any more, and what it says that is wrong. */
async function opened(page, at) {
  await page.goto(`${big.url}/office${at}`);
  const when = async (seen) => (await page.waitForFunction(seen, undefined, { polling: 'raf', timeout: patience })).jsonValue();
  const useful = await when(() => {
    const main = document.querySelector('#page');
    const own = main?.querySelector('h1') && [...main.children].some((e) => e.tagName !== 'H1' && !e.matches('.state, .lead') && e.getClientRects().length > 0);
    return own && performance.now();
  });
  const whole = await when(() => document.querySelector('#page h1') && ![...document.querySelectorAll('.state, .soon, [role=status]')].some((e) => /^Reading/.test(e.textContent)) && performance.now());
  const trouble = await page.locator('.trouble').allInnerTexts();
  if (process.env.THWART_SHOTS) {
    const name = `${page.viewportSize().width}${at.replace(/[0-9a-f-]{36}/, 'one').replace(/\W+/g, '-')}`;
    await page.screenshot({ path: `${process.env.THWART_SHOTS}/${name}.png` });
  }
  return { useful, whole, trouble, jumps: await jumpsOf(page) };
}

describe('the office over many inspections', () => {
  // The first thing that asks for the season waits until its records are read; a server begins with that when it starts.
  test('the records are read', { timeout: 1_200_000 }, async (t) => {
    const page = await enter(t, 1440, '/ledger');
    const sums = await asked(page, '/api/totals');
    tell('craft met', sums.items[0].encounters);
    const from = performance.now();
    const answer = await page.context().request.get(`${big.url}/api/morning?at=2026-07-05T18:00:00Z`, { timeout: 1_100_000 });
    assert.equal(answer.status(), 200);
    tell('the records are read after another', seconds(performance.now() - from));
  });

  for (const width of [1440, 1024]) {
    test(`every page at ${width} px`, { timeout: 1_800_000 }, async (t) => {
      const page = await enter(t, width, '/');
      await countJumps(page);
      const wrong = [];
      for (const at of [...officePages, ...await ofRecords(page)]) {
        try {
          const { useful, whole, trouble, jumps } = await opened(page, at);
          const short = at.replace(/[0-9a-f-]{36}/, '…');
          tell(width, `\`${short}\``, seconds(useful), seconds(whole), jumps.toFixed(3), trouble.join(' '));
          if (trouble.length > 0) wrong.push(`${at}: ${trouble.join(' ')}`);
          await look(page, at, { scripts: 6 });
        } catch (e) {
          wrong.push(`${at}: ${e.message.split('\n')[0]}`);
          tell(width, `\`${at}\``, e.message.split('\n')[0]);
        }
      }
      assert.deepEqual(wrong, []);
    });

    test(`the ledger filters, sorts and scrolls at ${width} px`, { timeout: 600_000 }, async (t) => {
      const page = await enter(t, width, '/ledger');
      await page.waitForSelector('.long-row');
      // What the driver does before the page hears of the act is no wait of a person's.
      await page.evaluate(() => {
        for (const kind of ['change', 'click']) addEventListener(kind, () => (globalThis.acted = performance.now()), true);
      });
      /** From the act, as the page hears of it, until the rows are others and painted. */
      const timed = async (what, act) => {
        const old = await page.locator('.long-row').first().innerText();
        await act();
        const to = await page.waitForFunction((o) => {
          const row = document.querySelector('.long-row');
          return row && row.innerText !== o ? performance.now() : 0;
        }, old, { polling: 'raf', timeout: patience });
        tell(width, what, `${Math.round((await to.jsonValue()) - (await page.evaluate(() => globalThis.acted)))} ms`);
      };
      const filter = (label, option) => () => page.locator('.filters').getByLabel(label).selectOption(option);
      await timed('filter by outcome', filter('Left with', 'wash'));
      await timed('filter by the water come from as well', filter('Came from', { index: 3 }));
      await page.getByRole('button', { name: 'Clear all' }).click();
      await page.waitForTimeout(500);
      await timed('filter by next water', filter('Next water', { index: 4 }));
      await timed('sort by minutes', () => page.getByRole('button', { name: 'Minutes' }).click());
      await page.getByRole('button', { name: 'Clear all' }).click();
      await page.waitForTimeout(500);
      const frames = await page.evaluate(async () => {
        const body = document.querySelector('.long-body');
        const gaps = [];
        let last = performance.now();
        for (let i = 0; i < 120; i++) {
          body.scrollTop += 400;
          await new Promise(requestAnimationFrame);
          gaps.push(performance.now() - last);
          last = performance.now();
        }
        return gaps.sort((a, b) => a - b);
      });
      tell(width, 'scrolling, 95 of 100 frames within', `${Math.round(frames[Math.floor(frames.length * 0.95)])} ms`);
      assert.ok(await page.locator('.long-row').count() < 80, 'only the rows in sight are drawn');
    });
  }
});
