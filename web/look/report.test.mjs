// Looks at the report that the command line writes as HTML, in a real browser: clean by axe at WCAG 2.2 AA, no sideways scroll of the
// page, one h1, every link of the contents leads somewhere. Needs CHROMIUM, and THWART (../../bin/thwart when left out).
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const binary = process.env.THWART ?? path.join(import.meta.dirname, '../../bin/thwart');
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let browser;
let folder;

async function run(...args) {
  const child = spawn(binary, args, { cwd: folder });
  let said = '';
  child.stderr.on('data', (d) => (said += d));
  const [code] = await once(child, 'exit');
  assert.equal(code, 0, `thwart ${args.join(' ')}: ${said}`);
}

before(async () => {
  assert.ok(process.env.CHROMIUM, 'CHROMIUM is not set; accepted: the path of a Chromium or Chrome');
  folder = await mkdtemp(path.join(tmpdir(), 'thwart-report-'));
  const args = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args });
  const server = spawn(binary, ['serve', '--demo', '--scale', '0.05', '--addr', '127.0.0.1:0', '--log', 'warn', '--dir', folder]);
  for await (const d of server.stdout) if (/^Open /m.test(String(d))) break;
  server.kill('SIGTERM');
  if (server.exitCode === null) await once(server, 'exit');
  for (const edition of ['season', 'board']) await run('report', `${edition}.html`, '--edition', edition, '--store', 'demo.db', '--made', '2026-10-12');
});

after(async () => {
  await browser?.close();
  if (folder) await rm(folder, { recursive: true, force: true });
});

for (const edition of ['season', 'board']) {
  for (const width of [360, 1440]) {
    test(`the ${edition} report at ${width} px`, async () => {
      const page = await (await browser.newContext({ viewport: { width, height: 800 } })).newPage();
      await page.goto(pathToFileURL(path.join(folder, `${edition}.html`)).href);
      await page.evaluate(axe);
      const { violations, passes } = await page.evaluate(() =>
        globalThis.axe.run(document, { runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] } }));
      assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.target.join(' ')).join(', ')}`), []);
      assert.ok(passes.length > 10, `axe looked at ${passes.length} rules only`);
      const seen = await page.evaluate(() => ({
        sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth,
        h1: document.querySelectorAll('h1').length,
        dead: [...document.querySelectorAll('nav a')].filter((a) => !document.getElementById(a.hash.slice(1))).map((a) => a.hash),
        unnamed: [...document.querySelectorAll('svg')].filter((s) => !s.querySelector('title')?.textContent || !s.querySelector('desc')?.textContent).length,
        outside: [...document.querySelectorAll('[src], link[href]')].length,
      }));
      assert.deepEqual(seen, { sideways: 0, h1: 1, dead: [], unnamed: 0, outside: 0 });
      await page.close();
    });
  }
}
