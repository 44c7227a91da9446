// Setting a phone up, before anything of the programme is on it: as it is, with longer words, from right to left, larger in the sun.
// `make test-phone` runs it.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { world } from './harness.mjs';
import { Ramp } from './ramp.mjs';

let w;
before(async () => {
  w = await world();
});
after(async () => w?.close());

/** Words with letters that the false language always replaces: they have not come from the messages. A phone's name is its own. */
const unturned = () => {
  const walker = document.createTreeWalker(document.querySelector('.phone-page'), NodeFilter.SHOW_TEXT);
  const found = [];
  while (walker.nextNode()) {
    const { data, parentElement } = walker.currentNode;
    if (/[aeiou]/.test(data.replace('demo steward', '')) && !parentElement.closest('.phone-brand')) found.push(data);
  }
  return found;
};

test('setting a phone up: no words of its own, and room for all of them', async () => {
  const phone = await w.phone();
  const s = new Ramp(phone, 'setup');
  const under = async (name, mark) => {
    for (const [condition, prefs] of Object.entries({ plain: {}, longer: { language: 'qps' }, rtl: { language: 'qps-rtl' }, sun: { sun: true } })) {
      await phone.page.evaluate((p) => localStorage.setItem('thwart-ramp-prefs', JSON.stringify(p)), prefs);
      await phone.page.reload();
      await phone.ready();
      await phone.page.locator(mark).first().waitFor();
      if (name === 'enrol') await phone.page.locator('form .phone-big').tap();
      await s.look(`${name}-${condition}`, { axeToo: true });
      if (prefs.language) assert.deepEqual(await phone.page.evaluate(unturned), [], `${name} ${condition}`);
    }
  };
  await under('enrol', '.phone-box');
  await phone.page.locator('.phone-box .phone-big').first().tap();
  await phone.page.locator('.phone-steps').waitFor();
  await under('four-things', '.phone-steps');
  await phone.kill();
});
