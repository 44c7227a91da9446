// A server of the demo, a line in front of it that can be made bad, and phones: real Chromium with a profile of its own, so
// that a phone can be killed and opened again.
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import http from 'node:http';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { chromium } from 'playwright-core';

const here = import.meta.dirname;
export const binary = process.env.THWART ?? path.join(here, '../../../bin/thwart');
export const dist = path.join(here, '../../../internal/webui/dist/');
const flags = [
  ...['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking'],
  ...['--disable-component-update', '--disable-sync'],
];

/** How long a test waits for what must come, in ms: a busy machine is slow, and only a thing that never comes is a fault. */
export const patience = 90_000;

/** Sizes that every phone test runs at, one after the other. */
export const sizes = [
  { width: 360, height: 740 },
  { width: 412, height: 915 },
];

/** Starts the demo with a line in front of it. */
export async function world() {
  if (!process.env.CHROMIUM) throw new Error('CHROMIUM is not set; accepted: the path of a Chromium or Chrome');
  const folder = await mkdtemp(path.join(tmpdir(), 'thwart-phone-'));
  const store = path.join(folder, 'demo.db');
  const args = ['serve', '--demo', '--scale', '0.02', '--addr', '127.0.0.1:0', '--log', 'error', '--dir', folder];
  const child = spawn(binary, args, { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  await new Promise((resolve, reject) => {
    child.stdout.on('data', (d) => {
      said += d;
      if (/^Open \S+$/m.test(said)) resolve();
    });
    child.on('exit', (code) => reject(new Error(`${binary} ended with ${code}: ${said}`)));
  });
  const server = new URL(/^Open (\S+)$/m.exec(said)[1]);
  const line = await lineTo(server);
  const phones = [];
  return {
    url: line.url,
    line,
    store,
    folder,
    api: await office(server.origin),
    phone: async (size = sizes[0], args = []) => {
      const p = new Phone(line.url, await mkdtemp(path.join(folder, 'phone-')), size, args);
      phones.push(p);
      await p.open();
      return p;
    },
    close: async () => {
      for (const p of phones) await p.kill();
      line.close();
      child.kill('SIGTERM');
      if (child.exitCode === null) await once(child, 'exit');
      await rm(folder, { recursive: true, force: true, maxRetries: 5 });
    },
  };
}

/**
 * A line between phones and server. `line.through` decides what becomes of a request: undefined hands it on; 'drop' cuts it
 * before it arrives, 'lose' after the server has dealt with it, 'twice' repeats it; a function answers in the server's place.
 */
async function lineTo(server) {
  const line = { through: () => undefined, bytes: 0, requests: [] };
  const hand = (req, body) =>
    new Promise((resolve, reject) => {
      const out = http.request({ host: server.hostname, port: server.port, method: req.method, path: req.url, headers: req.headers }, async (res) => {
        const parts = [];
        for await (const part of res) parts.push(part);
        resolve({ status: res.statusCode, headers: res.headers, body: Buffer.concat(parts) });
      });
      out.on('error', reject);
      out.end(body);
    });
  const proxy = http.createServer(async (req, res) => {
    try {
      const parts = [];
      for await (const part of req) parts.push(part);
      const body = Buffer.concat(parts);
      line.requests.push(`${req.method} ${req.url}`);
      const what = await line.through(req, body);
      if (what === 'drop') return req.socket.destroy();
      if (typeof what === 'function') return what(res, () => hand({ ...req, method: req.method, url: req.url, headers: { ...req.headers, 'accept-encoding': 'identity' } }, body));
      const answer = await hand(req, body);
      if (what === 'twice') await hand(req, body);
      if (what === 'lose') return req.socket.destroy();
      line.bytes += answer.body.length;
      res.writeHead(answer.status, answer.headers).end(answer.body);
    } catch {
      req.socket.destroy(); // the phone went away in the middle
    }
  });
  proxy.listen(0, '127.0.0.1');
  await once(proxy, 'listening');
  line.url = `http://localhost:${proxy.address().port}`;
  line.close = () => {
    proxy.closeAllConnections();
    proxy.close();
  };
  return line;
}

/** The manager's view of the store, over the API. */
async function office(origin) {
  const json = { 'Content-Type': 'application/json' };
  const signIn = await fetch(`${origin}/api/sign-in`, {
    method: 'POST',
    headers: json,
    body: JSON.stringify({ login: 'marit', password: 'withy lakes demo' }),
  });
  if (!signIn.ok) throw new Error(`sign-in: ${signIn.status}`);
  const cookie = signIn.headers.getSetCookie()[0].split(';')[0];
  const call = async (method, at, body) => {
    const res = await fetch(origin + at, { method, headers: { ...json, cookie }, ...(body && { body: JSON.stringify(body) }) });
    if (!res.ok) throw new Error(`${method} ${at}: ${res.status} ${await res.text()}`);
    return res.json();
  };
  return {
    get: (at) => call('GET', at),
    post: (at, body) => call('POST', at, body),
    bytes: async (at) => Buffer.from(await (await fetch(origin + at, { headers: { cookie } })).arrayBuffer()),
    /** Prints sheets, which takes their numbers; what comes back is a PDF. */
    print: async (body) => {
      const res = await fetch(`${origin}/api/sheets`, { method: 'POST', headers: { ...json, cookie }, body: JSON.stringify(body) });
      if (!res.ok) throw new Error(`sheets: ${res.status} ${await res.text()}`);
      return Buffer.from(await res.arrayBuffer());
    },
    /** Every entry that a device has in the store. */
    entriesOf: async (device, kinds = 'inspection,tally,shift,incident,photo') => {
      const found = [];
      for (let after = 0; ; ) {
        const { entries, next } = await call('GET', `/api/changes?after=${after}&limit=1000&kinds=${kinds}`);
        found.push(...entries.filter((e) => e.device === device));
        if (next === after) return found;
        after = next;
      }
    },
  };
}

class Phone {
  constructor(url, profile, size, args) {
    Object.assign(this, { url, profile, size, args, scripts: [] });
  }

  /** Opens the browser and the app in it. */
  async open(at = '/ramp/') {
    this.context = await chromium.launchPersistentContext(this.profile, {
      executablePath: process.env.CHROMIUM,
      args: [...flags, ...this.args],
      viewport: this.size,
      hasTouch: true,
    });
    this.context.setDefaultTimeout(patience);
    for (const s of this.scripts) await this.context.addInitScript(...s);
    this.page = this.context.pages()[0] ?? (await this.context.newPage());
    await this.page.goto(this.url + at);
    await this.ready();
  }

  /** The journal is open. */
  async ready(page = this.page) {
    await page.waitForFunction(() => globalThis.thwartRamp?.local.status().ready);
  }

  /** A script that runs before the app in every page from the next one on. */
  async before(...script) {
    this.scripts.push(script);
    await this.context.addInitScript(...script);
  }

  async tab() {
    const page = await this.context.newPage();
    await page.goto(`${this.url}/ramp/`);
    await this.ready(page);
    return page;
  }

  /** Enrols by the screens, as a newcomer to the demo does. */
  async enrol() {
    await this.page.getByRole('button', { name: /steward’s/ }).click();
    await this.page.getByRole('button', { name: 'Begin' }).waitFor();
    await this.page.waitForFunction(() => globalThis.thwartRamp.local.status().referenceAt);
    await this.page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await this.page.getByRole('button', { name: 'Begin' }).click();
    return (await this.status()).enrolment.device;
  }

  status(page = this.page) {
    return page.evaluate(() => globalThis.thwartRamp.local.status());
  }

  /** Waits until the status says so. */
  async until(test, arg, page = this.page) {
    await page.waitForFunction(test, arg, { polling: 100 });
  }

  async restart() {
    await this.context.close();
    await this.open();
  }

  /** Ends the browser without a word, as a dead battery does. */
  async kill() {
    if (!this.context) return;
    const browser = this.context.browser();
    const context = this.context;
    this.context = undefined;
    const pid = await pidOf(this.profile);
    if (pid) process.kill(pid, 'SIGKILL');
    await context.close().catch(() => undefined);
    await browser?.close().catch(() => undefined);
  }
}

/** The browser's own process: the lock of its profile names it. */
async function pidOf(profile) {
  const { readlink } = await import('node:fs/promises');
  const target = await readlink(path.join(profile, 'SingletonLock')).catch(() => '');
  return Number(target.split('-').pop()) || undefined;
}

export const sha256 = (data) => createHash('sha256').update(data).digest('hex');

/** Numbers that a seed gives again (mulberry32, public domain). */
export function luckOf(seed) {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
