// Boats at every stage of an inspection, put on a phone below the screens: what the screens make of them is the test.

/** Puts the boats on the phone and gives their ids. The page has to be loaded again to show them. */
export function boats(phone) {
  return phone.page.evaluate(async () => {
    const { local, engine } = globalThis.thwartRamp;
    const { classes } = await engine.call('library', {});
    const water = (name) => local.reference.list('water').find((w) => w.body.name === name).subject;
    const [home, mussels] = [water('Brackenholt Lake'), water('Owlmere Reservoir')];
    const now = Date.now();
    const day = 86_400_000;
    const iso = (ms) => new Date(ms).toISOString().replace(/\.\d+Z$/, 'Z');
    const ids = {};
    const put = async (name, acts) => {
      const id = local.newId();
      const draft = { id, kind: 'boat', startedAt: iso(now - 120_000), acts: acts.map((a, i) => ({ ...a, at: now - 110_000 + i * 1000 })) };
      await local.saveDraft(id, draft);
      ids[name] = id;
    };
    const craft = (id) => ({ do: 'craft', setup: classes.find((c) => c.id === id).usual });
    const from = (w, days, stay) => [
      { do: 'water', water: w },
      { do: 'out', outAt: iso(now - days * day) },
      { do: 'stay', stay },
    ];
    const drained = [
      { do: 'outlet', outlet: 'driveLowered', answer: 'yes' },
      { do: 'outlet', outlet: 'plugsOut', answer: 'yes' },
      { do: 'outlet', outlet: 'strainerOut', answer: 'yes' },
      { do: 'started' },
    ];
    const walked = async (id) => {
      const { round, places } = await engine.call('round', { setup: classes.find((c) => c.id === id).usual });
      const hidden = new Set(places.filter((p) => p.hidden).map((p) => p.id));
      return {
        do: 'checks',
        checks: round.stops.map((s) => ({
          place: s.place,
          looked: 'yes',
          ...(s.tasks.includes('feel') ? { felt: 'yes' } : {}),
          ...(s.tasks.includes('open') ? { opened: 'yes' } : {}),
          ...(hidden.has(s.place) && !s.place.includes('engine') ? { ranDry: 'yes', wet: 'film' } : { wet: 'dry' }),
          seconds: 2,
        })),
      };
    };
    const weed = { do: 'found', finding: { id: local.newId(), place: 'trailer.axle.port', matter: 'plant', amount: '2-10', removed: 'none' }, check: { place: 'trailer.axle.port', looked: 'yes' } };
    const canoe = [craft('canoe_kayak'), ...from(home, 31, 'day_use'), await walked('canoe_kayak')];
    await put('water', [craft('canoe_kayak')]);
    await put('out', [craft('canoe_kayak'), { do: 'water', water: home }]);
    await put('stay', [craft('canoe_kayak'), ...from(home, 2, '').slice(0, 2)]);
    await put('prompt', [craft('runabout'), ...from(home, 31, 'day_use')]);
    await put('walk', [craft('runabout'), ...from(home, 31, 'day_use'), ...drained]);
    await put('hidden', [craft('wake_boat'), ...from(home, 31, 'day_use'), ...drained, { do: 'checks', checks: (await walked('wake_boat')).checks.filter((c) => !c.ranDry) }]);
    await put('launch', canoe);
    await put('fix', [craft('runabout'), ...from(home, 31, 'day_use'), ...drained, await walked('runabout'), weed]);
    await put('wash', [craft('wake_boat'), ...from(mussels, 2, 'moored'), ...drained, await walked('wake_boat')]);
    for (const outcome of ['dry', 'hold']) {
      await put(outcome, [...canoe, { do: 'override', override: { outcome, by: local.status().enrolment.person, why: 'The lead decided it on the spot' } }]);
    }
    return ids;
  });
}

/** Screens that can be reached by address alone, with the boats above: name, address, and what stands there once the engine has answered. */
export const places = (ids) => [
  ['home', 'home'],
  ['craft', 'craft'],
  ['ask-water', `boat/${ids.water}`, '.water-name'],
  ['ask-out', `boat/${ids.out}`],
  ['ask-stay', `boat/${ids.stay}`],
  ['prompt', `boat/${ids.prompt}`, '.caution'],
  ['walk', `boat/${ids.walk}`, '.rig'],
  ['hidden', `boat/${ids.hidden}`, '.rig'],
  ['short', `boat/${ids.walk}/short`, '.given-up'],
  ['refuse', `boat/${ids.walk}/refuse`, '.caution p'],
  ['launch', `boat/${ids.launch}`, '.plate'],
  ['fix-here', `boat/${ids.fix}`, '.plate'],
  ['fix', `boat/${ids.fix}/fix`, '.fix li'],
  ['wash', `boat/${ids.wash}`, '.plate'],
  ['offer', `boat/${ids.wash}/washoffer`, '.step-line'],
  ['dry', `boat/${ids.dry}`, '.plate'],
  ['dry-clock', `boat/${ids.wash}/dry`, '.big-answer'],
  ['hold', `boat/${ids.hold}`, '.plate'],
  ['override', `boat/${ids.hold}/override`, '.plate-glyph'],
  ['card', `boat/${ids.wash}/card`, '.boater'],
  ['same', `boat/${ids.launch}/same`],
  ['boats', 'boats'],
  ['verify', 'verify'],
  ['order', 'order'],
  ['tally', 'tally'],
  ['keyin', 'keyin'],
  ['close', 'close'],
  ['help', 'help'],
  ['incident', 'incident'],
  ['settings', 'settings'],
  ['state', 'state'],
];
