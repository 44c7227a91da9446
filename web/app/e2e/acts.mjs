// What a steward does, called below the screens: the screens have tests of their own.

/** Opens a shift at the first launch and gives its id. */
export function openShift(phone) {
  return phone.page.evaluate(async () => {
    const { local } = globalThis.thwartRamp;
    const launch = local.reference.list('launch')[0];
    const person = local.status().enrolment.person;
    const from = new Date(Date.now() - 60_000).toISOString();
    const { id } = await local.seal('shift', { launch: launch.subject, people: [person], from });
    return id;
  });
}

/** Seals so many inspections of a clean canoe, each judged by the engine, and gives their ids. */
export function inspect(phone, shift, count, page = phone.page) {
  return page.evaluate(
    async ({ shift, count }) => {
      const { local, engine } = globalThis.thwartRamp;
      const launch = local.reference.list('launch')[0];
      const water = launch.body.water;
      const at = (minutes) => new Date(Date.now() - minutes * 60_000).toISOString();
      const ids = [];
      for (let n = 0; n < count; n++) {
        const inspection = {
          launch: launch.subject,
          water,
          direction: 'launching',
          startedAt: at(5),
          endedAt: at(1),
          setup: { class: 'canoe_kayak', lengthM: 5, drives: ['hand'], spaces: [], gear: [], trailer: 'none' },
          lastWaters: [{ water, outAt: at(60 * 24 * 30), stay: 'day_use' }],
          others: { looked: 'yes', felt: 'yes', opened: 'yes', wet: 'dry' },
        };
        const known = { id: water, name: 'Home water', status: {}, others: 'not_found' };
        const { verdict } = await engine.call('verdict', { inspection, waters: [known], protocolId: 'regional-minimum' });
        const body = { shift, inspection, protocol: verdict.protocol ?? 'regional-minimum@1', verdict };
        await local.saveDraft(`boat-${n}`, { kind: 'boat', inspection });
        const { id } = await local.seal('inspection', body, { draft: `boat-${n}` });
        ids.push(id);
      }
      return ids;
    },
    { shift, count },
  );
}
