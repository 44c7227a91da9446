// The engine for screens: `engine.call('verdict', case)`. Every rule of the trade is asked of it; none is written here.
import { Engine, type EngineWorker } from './client.ts';
import type { Ops } from './types.ts';

export { EngineFailed, EngineRefused } from './client.ts';
export type * from './types.ts';

export const engine = new Engine<Ops>(
  () => new Worker(new URL('./engine.worker.ts', import.meta.url), { type: 'module', name: 'engine' }) as EngineWorker,
);

/** The engine with practice craft and questions as well. It is loaded when somebody practises, and by nobody else. */
export const practiceEngine = new Engine<Ops>(
  () =>
    new Worker(new URL('./engine.worker.ts', import.meta.url), { type: 'module', name: 'practice' }) as EngineWorker,
);
