// Every screen of the ramp at both sizes and under hard conditions: doubled text, longer words, the other direction, forced colours, a
// phone that prefers dark, the sun setting. One phone for all; each screen is measured and pictured. `make test-phone` runs it.
import assert from 'node:assert/strict';
import { after, afterEach, before, describe, test } from 'node:test';
import { contrast, difference, seen, sights } from './colour.mjs';
import { sizes, world } from './harness.mjs';
import { Ramp } from './ramp.mjs';
import { boats, places } from './stage.mjs';

let w;
let r;
let screens;

before(async () => {
  w = await world();
  const phone = await w.phone();
  await phone.enrol();
  r = new Ramp(phone, 'screens');
  await r.openShift('Alder Point', 1);
  const ids = await boats(phone);
  await load();
  // Some screens need a tap more than their address.
  const step = (from, ...taps) => async () => {
    await r.at(from);
    for (const t of taps) await r.tap(t);
  };
  const walk = `boat/${ids.walk}`;
  screens = [
    ...places(ids).map(([name, at, mark = 'h1']) => [
      name,
      async () => {
        await r.at(at);
        await r.page.locator(mark).first().waitFor();
      },
    ]),
    ['kinds', step('craft', /more kinds/)],
    ['number', step('craft', /^Been here before|^Bééñ/)],
    ['outfit', step(`boat/${ids.prompt}`, /^What it has|^Whát ít/)],
    ['map', step(walk, /whole walk|whólé wálk/)],
    ['where', step(walk, /^Found|^Fóúñd/)],
    ['wet', step(walk, /^Wet|^Wét/, /^All \d|^Áll \d/)],
    ['unchecked', step(walk, /^Could not|^Çóúld ñót/, /^All \d|^Áll \d/)],
    ['more-waters', step(`boat/${ids.water}`, /^Another water|^Áñóthér wátér/)],
  ];
});
after(async () => w?.close());

async function load() {
  await r.page.reload();
  await r.phone.ready();
  await r.page.locator('.frame').waitFor();
}

/** What colours alone can change shows on these: plates, a drawing, fields, tiles that are pressed or not to be pressed. */
const coloured = ['home', 'walk', 'launch', 'fix-here', 'wash', 'dry', 'hold', 'override', 'card', 'outfit', 'close'];

/** Goes to every screen, or to the named ones, and looks at it. */
async function all(prefix, { only, ...options } = {}) {
  Object.assign(r, { prefix, shot: 0 });
  const faults = [];
  for (const [name, open] of screens.filter(([n]) => !only || only.includes(n))) {
    try {
      await r.at('home');
      await open();
      await settled();
      await r.look(name, options);
    } catch (e) {
      faults.push(`${name}: ${e.message}`);
    }
  }
  assert.equal(faults.join('\n'), '');
}

/** The engine has answered, so that the screen holds what it is going to hold. */
async function settled() {
  await r.page.waitForFunction(() => document.querySelector('.frame h1, .phone-page h1'));
  let last = '';
  for (let n = 0; n < 20; n++) {
    const text = await r.page.evaluate(() => document.body.innerText);
    if (text === last) return;
    last = text;
    await r.page.waitForTimeout(80);
  }
}

async function prefer(change) {
  await r.page.evaluate((c) => {
    localStorage.setItem('thwart-ramp-prefs', JSON.stringify(c));
  }, change);
  await load();
}

for (const size of sizes) {
  test(`every screen is clean to axe and to measure at ${size.width} × ${size.height} px`, async () => {
    await r.page.setViewportSize(size);
    await all(`${size.width}-plain`, { axeToo: true });
  });
}

test('verdict plates: words of at least 7:1, and plates that every eye tells apart', async () => {
  // Two of the formula's published check pairs (Sharma, Wu and Dalal 2005, table 1, pairs 1 and 34).
  assert.ok(Math.abs(difference([50, 2.6772, -79.7751], [50, 0, -82.7485]) - 2.0425) < 5e-5);
  assert.ok(Math.abs(difference([2.0776, 0.0795, -1.135], [0.9033, -0.0636, -0.5514]) - 0.9082) < 5e-5);
  const plates = await r.page.evaluate(() =>
    ['launch', 'fix_here', 'wash', 'dry', 'hold'].map((kind) => {
      const e = document.body.appendChild(document.createElement('section'));
      e.className = `plate plate-${kind}`;
      const { backgroundColor, color } = getComputedStyle(e);
      e.remove();
      return { kind, backgroundColor, color };
    }),
  );
  for (const p of plates) assert.ok(contrast(p.color, p.backgroundColor) >= 7, `${p.kind}: ${contrast(p.color, p.backgroundColor).toFixed(2)}`);
  for (const sight of sights) {
    plates.forEach((a, i) => {
      for (const b of plates.slice(i + 1)) {
        const d = difference(seen(a.backgroundColor, sight), seen(b.backgroundColor, sight));
        assert.ok(d >= 20, `${a.kind} and ${b.kind} to a ${sight} eye: ${d.toFixed(1)}`);
      }
    });
  }
});

describe('under hard conditions at 360 px', () => {
  before(() => r.page.setViewportSize(sizes[0]));
  afterEach(() => r.page.emulateMedia({ forcedColors: 'none', colorScheme: 'light' }));

  test('the reader has doubled the text', async () => {
    const cdp = await r.phone.context.newCDPSession(r.page);
    await cdp.send('Page.setFontSizes', { fontSizes: { standard: 32, fixed: 26 } });
    try {
      await all('360-doubled', { doubled: true });
    } finally {
      await cdp.send('Page.setFontSizes', { fontSizes: { standard: 16, fixed: 13 } });
    }
  });

  test('words are four tenths longer', async () => {
    await prefer({ language: 'qps' });
    await all('360-longer');
  });

  test('the language runs from right to left', async () => {
    await prefer({ language: 'qps-rtl' });
    assert.equal(await r.page.evaluate(() => getComputedStyle(document.body).direction), 'rtl');
    await all('360-rtl');
  });

  test('in the sun everything is a quarter larger', async () => {
    await prefer({ sun: true });
    assert.equal(await r.page.evaluate(() => getComputedStyle(document.documentElement).fontSize), '20px');
    await all('360-sun');
  });

  test('colours are forced', async () => {
    await prefer({});
    await r.page.emulateMedia({ forcedColors: 'active' });
    await all('360-forced', { only: coloured });
  });

  test('a phone that prefers dark still gets ink on paper', async () => {
    await r.page.emulateMedia({ colorScheme: 'dark' });
    const [ink, paper] = await r.page.evaluate(() => [getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]);
    assert.ok(contrast(ink, paper) >= 12, `${contrast(ink, paper)}`);
    assert.equal(await r.page.evaluate(() => getComputedStyle(document.documentElement).colorScheme), 'light');
    await all('360-dark', { only: coloured });
  });
});
