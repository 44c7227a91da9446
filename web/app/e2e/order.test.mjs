// An order that nobody vouches for, and the engine in another language, on the screens of a phone. `make test-phone` runs it.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { sizes, world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

let w;
let r;
before(async () => {
  w = await world();
  const phone = await w.phone(sizes[0]);
  await phone.enrol();
  r = new Ramp(phone, 'order');
  await r.openShift('Alder Point', 1);
});
after(async () => w?.close());

/** The order of a wash, signed at a moment by a key that no programme knows. */
const strange = (ramp, inMs) =>
  ramp.page.evaluate(async (inMs) => {
    const { engine } = globalThis.thwartRamp;
    const key = await crypto.subtle.generateKey('Ed25519', false, ['sign', 'verify']);
    const base64 = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes)));
    const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
    const pub = base64(await crypto.subtle.exportKey('raw', key.publicKey));
    const { setup } = await engine.call('setup', { class: 'wake_boat' });
    const at = new Date(Date.now() + inMs).toISOString();
    const inspection = { startedAt: new Date(Date.now() - 600_000).toISOString(), direction: 'launching', setup, lastWaters: [{}] };
    const { note, bytes: sign } = await engine.call('order.toSign', { encounter: '01980d5e-6a00-7000-8000-00000000beef', inspection, public: pub, at });
    const signature = base64(await crypto.subtle.sign('Ed25519', key.privateKey, bytes(sign)));
    return (await engine.call('note.seal', { note, signature, public: pub })).text;
  }, inMs);

async function paste(label, text) {
  await r.fill(label, text);
  await r.tap('Read it');
}

test('an order that nobody vouches for says so in whole sentences, and leaves both ways open', async () => {
  const order = await strange(r, 0);
  for (const size of sizes) {
    await r.page.setViewportSize(size);
    await r.home();
    await r.tap('Take a wash order');
    await r.look('take', { axeToo: true });
    await paste('Four letters', order);
    await r.heading('Nobody vouches for this order');
    assert.match(await r.page.locator('.trouble').first().innerText(), /^[A-Z].*\.$/);
    await r.look(`unproven-${size.width}`, { axeToo: true });
    await r.tap('Read another code');
    await r.heading('Take a wash order');
  }
  await r.page.setViewportSize(sizes[0]);
  await paste('Four letters', order);
  await r.tap('Wash by it');
  await r.heading(/^(Before hot water runs|Wash: )/);
});

test('what the engine says is said in the language that it was given', async () => {
  const said = await r.page.evaluate(async () => {
    const { engine } = globalThis.thwartRamp;
    const setup = { class: 'canoe_kayak', drives: ['hand'], spaces: [], gear: [], trailer: 'none' };
    const ask = async () => {
      const { round } = await engine.call('round', { setup });
      const { classes } = await engine.call('library', {});
      return [round.stops.map((s) => s.name).join(), classes.find((c) => c.id === 'canoe_kayak').name];
    };
    const english = await ask();
    const name = english[1];
    engine.remember('tongue.load', { words: { [name]: 'canoë ou kayak', '{place}, port side': '{place}, à bâbord' } });
    const french = await ask();
    engine.remember('tongue.load', { words: {} });
    return { english, french, again: await ask() };
  });
  assert.match(said.english[0], /, port side/);
  assert.match(said.french[0], /, à bâbord/);
  assert.doesNotMatch(said.french[0], /, port side/);
  assert.equal(said.french[1], 'canoë ou kayak');
  assert.deepEqual(said.again, said.english);
});
