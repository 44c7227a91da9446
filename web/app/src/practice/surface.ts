import type { ComponentType, ReactNode } from 'react';
import type { DrillCraft, Marked, Memory, Quiz, Score, Setup, Turn, Week } from '../engine/types.ts';
import type { DrillDraft } from './draft.ts';

/** What a screen of practice stands in: the ramp's frame, or the office's page. */
export interface FrameProps {
  children: ReactNode;
  /** Answers and the main act. */
  acts?: ReactNode;
  /** Changes when the screen shows another thing, so that focus and scroll start at its top. */
  at?: string;
}

/** Where a record has gone: durable on this phone, at the server, or nowhere. */
export type Kept = 'phone' | 'desk' | 'no';

export interface Scored {
  readonly score: Score;
  readonly kept: Kept;
}

export interface QuizDone {
  readonly marked: Marked;
  readonly kept: Kept;
}

/** What somebody practised, and what is due. */
export interface Own {
  readonly memory: Memory;
  readonly week: Week;
  /** What planted objects and double looks say of this person, as the server last put it; none where it never was asked. */
  readonly says?: readonly string[];
}

/** What differs between the phone, which works without a network, and the desk, which asks the server. */
export interface Surface {
  readonly Frame: ComponentType<FrameProps>;
  /** What is done at a place stands beside its drawing, rather than low where a thumb reaches it. */
  readonly actsBeside: boolean;
  /** Where the printed guide is, where it can be fetched. */
  readonly handbook: string | undefined;
  own(): Promise<Own>;
  make(setup: Setup, difficulty: number): Promise<DrillCraft>;
  /** Judges a drill and keeps it on the trainee's record. */
  score(drill: DrillCraft, turn: Turn, startedAt: Date, endedAt: Date): Promise<Scored>;
  ask(count: number): Promise<Quiz>;
  /** Marks questions and keeps them on the trainee's record. */
  mark(quiz: Quiz, chosen: readonly number[], startedAt: Date, endedAt: Date): Promise<QuizDone>;
  /** The drill that was left before its verdict. */
  readonly draft: {
    read(): Promise<DrillDraft | undefined>;
    /** Keeps it as it stands; with nothing, there is none any more. */
    keep(draft: DrillDraft | undefined): Promise<void>;
  };
  /** The practice program has been loaded. */
  opened?(): void;
  /** Leaves practice. */
  leave(): void;
}

/** A seed that JSON's readers hold without loss. */
export const newSeed = (): number => {
  const [a = 0, b = 0] = crypto.getRandomValues(new Uint32Array(2));
  return (a & 0x1fffff) * 2 ** 32 + b;
};
