import type { RoundOut } from '../engine/types.ts';
import type { Doing } from './drill.ts';
import type { Form } from './Round.tsx';

/** A drill that was left before its verdict: what was done, and where. The round is computed again from the craft. */
export interface DrillDraft {
  /** Of this form; one of another form is not read. */
  readonly form: typeof FORM;
  readonly where: 'story' | 'round' | 'decide';
  readonly shown: Form;
  readonly doing: Omit<Doing, 'round'>;
  readonly savedAt: number;
}

const FORM = 1;

export function draftOf(
  where: DrillDraft['where'],
  shown: Form,
  { round: _, ...doing }: Doing,
  now: number,
): DrillDraft {
  return { form: FORM, where, shown, doing, savedAt: now };
}

/** What was kept, where it is a draft that can be gone on with. */
export function readDraft(kept: unknown): DrillDraft | undefined {
  const draft = kept as DrillDraft | undefined;
  return draft?.form === FORM ? draft : undefined;
}

/** Goes on with it. The time away counts at no place: every clock of the drill begins that much later. */
export function resume(draft: DrillDraft, round: RoundOut, now: number): Doing {
  const away = Math.max(0, now - draft.savedAt);
  const { doing } = draft;
  return { ...doing, round, startedAt: doing.startedAt + away, arrivedAt: doing.arrivedAt + away };
}

/** How many places of the craft are answered. */
export const answeredIn = (draft: DrillDraft): number =>
  Object.values(draft.doing.notes).filter((n) => n.answered).length;
