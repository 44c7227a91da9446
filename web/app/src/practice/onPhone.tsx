import { useMemo } from 'react';
import { practiceEngine } from '../engine/index.ts';
import type { Drill, Memory } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { Frame } from '../ramp/Frame.tsx';
import { usePrefs } from '../ramp/prefs.ts';
import { go } from '../ramp/route.ts';
import { isoLocal, type RampState, useRamp } from '../ramp/state.tsx';
import { OWN_PRACTICE } from '../sync/sync.ts';
import { readDraft } from './draft.ts';
import Practice from './Practice.tsx';
import { newSeed, type Surface } from './surface.ts';

/** Practice on the phone: everything is computed here, and records go by the phone's journal, with or without a network. */
export default function PracticeOnPhone() {
  const ramp = useRamp();
  const { units } = usePrefs();
  // biome-ignore lint/correctness/useExhaustiveDependencies: made once for a person and her rules; records are read when asked for
  const surface = useMemo(() => surfaceOf(ramp, units === 'us'), [ramp.me, ramp.rule.ref, units]);
  return <Practice surface={surface} />;
}

const PROGRAM = '/engine/practice.wasm';

/**
 * Keeps the program on the phone. Where it was loaded in the first moments of the very first visit, before the service worker served
 * this page, it is asked for once more through it.
 */
async function keepProgram(): Promise<void> {
  const workers = navigator.serviceWorker;
  if (!workers) return;
  await workers.ready;
  if (!workers.controller)
    await new Promise((done) => workers.addEventListener('controllerchange', done, { once: true }));
  if (!(await caches.match(PROGRAM))) await fetch(PROGRAM);
}

/** What the server last said, and the drills on this phone that it did not know then. */
async function known(): Promise<{ memory?: Memory; drills: Drill[]; says: readonly string[] }> {
  const said = await local.recall<{ memory: Memory; at: string; says?: string[] }>(OWN_PRACTICE);
  const drills = local
    .records<Drill>('drill')
    .filter((r) => !said || r.state !== 'sent' || (r.sentAt ?? '') > said.at)
    .map((r) => r.entry.body);
  return { ...(said ? { memory: said.memory } : {}), drills, says: said?.says ?? [] };
}

function surfaceOf(ramp: RampState, us: boolean): Surface {
  const { rule, me } = ramp;
  const protocol = rule.whole ? { protocol: rule.whole } : { protocolId: rule.id ?? 'regional-minimum' };
  const own = async () => {
    const { says, ...practised } = await known();
    const now = isoLocal(new Date());
    return { ...(await practiceEngine.call('drill.week', { ...practised, now })), says };
  };
  const keep = async (record: Drill) => {
    await local.seal('drill', record);
    return 'phone' as const;
  };
  return {
    Frame,
    actsBeside: false,
    handbook: undefined,
    own,
    make: async (setup, difficulty) => {
      const { memory } = await own();
      const at = isoLocal(new Date());
      return practiceEngine.call('drill', { seed: newSeed(), setup, difficulty, at, weak: memory.weak, ...protocol });
    },
    score: async (drill, turn, startedAt, endedAt) => {
      const { score, record } = await practiceEngine.call('drill.score', {
        drill,
        turn,
        person: me,
        startedAt: isoLocal(startedAt),
        endedAt: isoLocal(endedAt),
      });
      return { score, kept: await keep(record) };
    },
    ask: async (count) => {
      const { week } = await own();
      return practiceEngine.call('questions', {
        seed: newSeed(),
        count,
        at: isoLocal(new Date()),
        first: week.ask,
        ...protocol,
        ...(us ? { us } : {}),
      });
    },
    mark: async (quiz, chosen, startedAt, endedAt) => {
      const { marked, record } = await practiceEngine.call('questions.mark', {
        quiz,
        chosen: [...chosen],
        person: me,
        startedAt: isoLocal(startedAt),
        endedAt: isoLocal(endedAt),
      });
      return { marked, kept: record ? await keep(record) : 'no' };
    },
    draft: {
      read: async () => readDraft(await local.recall(`drill/${me}`)),
      keep: (draft) => local.remember(`drill/${me}`, draft),
    },
    // Without a network it is kept the next time.
    opened: () => void keepProgram().catch(() => undefined),
    leave: () => go('home'),
  };
}
