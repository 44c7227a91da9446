import type { Encounter, Mark, Setup } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { boatOf } from './boat.ts';
import { call, useRamp } from './state.tsx';

/** What is known of a craft by its number. */
export interface Known {
  readonly mark?: Mark;
  readonly setup?: Setup;
  /** The office has not given this phone its key yet: no number can be turned into a mark. */
  readonly noKey?: boolean;
}

/**
 * The mark of a number: its hash under the programme's key of this season, made by the engine as the server makes it. The number itself is
 * kept nowhere.
 */
export async function markOf(registration: string): Promise<{ mark?: Mark; noKey?: boolean }> {
  const key = await local.known.key();
  return key ? call('mark', { registration, key }) : { noKey: true };
}

/** Knows craft again by the mark of their number: among those met on this phone, then among those that other phones have sent. */
export function useMarking(): (registration: string) => Promise<Known> {
  const { dones, boats } = useRamp();
  return async (registration) => {
    const { mark, noKey } = await markOf(registration);
    if (!mark) return noKey ? { noKey } : {};
    const met = [...dones.map((d) => d.boat), ...boats]
      .map(boatOf)
      .filter((b) => b.mark?.hash === mark.hash && b.setup);
    const kept = local.records<Encounter>('inspection').find((r) => r.entry.body.mark?.hash === mark.hash);
    const setup =
      met.at(-1)?.setup ??
      kept?.entry.body.inspection.setup ??
      ((await local.known.setup(mark.hash)) as Setup | undefined);
    return { mark, ...(setup ? { setup } : {}) };
  };
}
