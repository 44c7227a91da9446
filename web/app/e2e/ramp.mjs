// A steward's hands on the screens of the ramp: taps are counted, every screen that is looked at is held against WCAG and measured.
import assert from 'node:assert/strict';
import { mkdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import { measure } from './measure.mjs';

const shots = path.join(import.meta.dirname, '../../../out/shots');
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** A second tap at one spot within this time counts as the same tap bouncing; a hand is slower than that from screen to screen. */
const HAND_MS = 320;

export class Ramp {
  constructor(phone, prefix) {
    Object.assign(this, { phone, prefix, taps: 0, typed: 0, shot: 0, pace: HAND_MS });
  }
  get page() {
    return this.phone.page;
  }

  button(name) {
    return this.page.getByRole('button', { name }).first();
  }

  /** Taps what has this name and counts it. */
  async tap(name) {
    await this.button(name).tap();
    this.taps += 1;
    await this.page.waitForTimeout(this.pace);
  }

  async fill(label, text) {
    await this.page.getByLabel(label).first().fill(text);
    this.typed += text.length;
  }

  heading(name) {
    return this.page.getByRole('heading', { name }).first().waitFor();
  }

  /** Slows the processor down; 1 is full speed. */
  async slow(rate) {
    this.cdp ??= await this.phone.context.newCDPSession(this.page);
    await this.cdp.send('Emulation.setCPUThrottlingRate', { rate });
  }

  /** Looks hard at the screen as it stands: what can be measured, and axe where asked; keeps a picture. */
  async look(name, { axeToo = false, doubled = false } = {}) {
    await mkdir(shots, { recursive: true });
    await this.slow(1); // looking is no part of what a slow phone has to bear
    this.shot += 1;
    await this.page.locator('h1').first().waitFor();
    await this.page.screenshot({ path: path.join(shots, `${this.prefix}-${String(this.shot).padStart(2, '0')}-${name}.png`) });
    const { faults, words } = await this.page.evaluate(measure, { doubled });
    assert.ok(words > 3, `${name}: nothing to read`);
    assert.deepEqual(faults, [], `${this.prefix} ${name}`);
    if (axeToo) await this.axe(name);
    await this.slow(this.rate ?? 1);
  }

  async axe(name) {
    await this.page.evaluate((source) => globalThis.axe ?? (0, eval)(source), axe);
    const found = await this.page.evaluate(async () => {
      const { violations } = await globalThis.axe.run(document, {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
      });
      return violations.map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target} ${n.any[0]?.message ?? ''}`).join(' | ')}`);
    });
    assert.deepEqual(found, [], `${this.prefix} ${name}: axe`);
  }

  async openShift(launch, unit, { air, rain } = {}) {
    await this.tap('Start a shift');
    await this.tap(new RegExp(`^${launch}`));
    if (unit !== undefined) await this.page.getByLabel('Hot water at hand').selectOption(unit === '' ? '' : { index: unit });
    await this.page.getByText('Not said is not known').waitFor();
    for (const part of [air, rain]) if (part) await this.tap(new RegExp(`^${part}`));
    if (air && rain) await this.page.getByText('The weather goes into the records.').waitFor();
    else if (air || rain) await this.page.getByText('What is said goes into the records.').waitFor();
    await this.tap('Open the shift');
    await this.button(/^Next boat/).waitFor();
  }

  /** From the picture to the walk. A water is a pattern of its name in the list, or text to type first. */
  async ask({ craft, water, type, out, stay }) {
    await this.tap(/^Next boat/);
    await this.tap(craft);
    if (water === null) return this.tap('Not sure');
    if (type) {
      await this.tap('Another water');
      await this.fill('Type a part', type);
    }
    await this.tap(water);
    await this.tap(out);
    await this.tap(stay);
  }

  /** Answers every leg: nothing to be found, and what cannot be seen into as said. */
  async walkOn({ hidden = /^(Pump ran|Every pump|Nothing runs)/, most = 60 } = {}) {
    for (let n = 0; n < most; n++) {
      const clear = this.page.getByRole('button', { name: /^Nothing (here|else), all dry/ });
      const unseen = this.page.getByRole('button', { name: hidden });
      await this.page.locator('.plate').or(clear).or(unseen).first().waitFor();
      if (await this.page.locator('.plate').count()) return;
      if (await clear.count()) await this.tap(/^Nothing (here|else), all dry/);
      else if (await unseen.count()) await this.tap(hidden);
    }
    assert.fail('the walk has no end');
  }

  async verdict() {
    const word = this.page.locator('.plate-word');
    await word.waitFor();
    return (await word.innerText()).replace(/\s+/g, ' ');
  }

  /** What the screen offers: the words of its links and tiles, without what stands on every screen. */
  async offers() {
    return this.page.evaluate(() => [...document.querySelectorAll('main button, .acts button')].map((b) => b.innerText.trim()));
  }

  /** Records on this phone, of one kind or all. */
  records(kind) {
    return this.page.evaluate((k) => globalThis.thwartRamp.local.records(k).map((r) => ({ ...r.entry, state: r.state })), kind);
  }
  /** The newest one; the first of its kind is waited for, since a record is sealed by the engine after the tap. */
  async last(kind) {
    await this.page.waitForFunction((k) => globalThis.thwartRamp.local.records(k).length > 0, kind, { polling: 50 });
    return (await this.records(kind)).at(-1);
  }

  /** A water of the region by its name. */
  water(name) {
    return this.page.evaluate((n) => globalThis.thwartRamp.local.reference.list('water').find((x) => x.body.name === n)?.subject, name);
  }

  /** Goes to a place by its address, as the phone's own back and a reopened app do. */
  async at(where) {
    await this.page.evaluate((to) => {
      location.hash = `#/${to}`;
    }, where);
    await this.page.waitForTimeout(60);
  }

  async home() {
    await this.page.evaluate(() => {
      location.hash = '#/home';
    });
    await this.button(/^Next boat/).waitFor();
  }
}
