import { EngineFailed, EngineRefused } from '../engine/client.ts';
import type { Say } from '../messages/index.tsx';

/** Why something was not done, in the language of the screens as far as it is known. */
export function whyOf(say: Say, e: unknown): string {
  if (e instanceof EngineRefused) {
    return e.fields
      .map(({ field, value, accepted }) =>
        value ? say('kept.faultOf', { field, value, accepted }) : say('kept.fault', { field, accepted }),
      )
      .join(' ');
  }
  if (e instanceof EngineFailed && e.how !== 'said') return say(`trouble.engine.${e.how}`);
  return e instanceof Error ? e.message : String(e);
}
