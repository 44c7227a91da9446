import { useQueryClient } from '@tanstack/react-query';
import { type ReactNode, useEffect, useMemo, useRef } from 'react';
import './desk.css';
import type { DrillCraft, Marked, Quiz, Score } from '../engine/types.ts';
import { Speak, useSay } from '../messages/index.tsx';
import { answer, api, type Schemas } from '../shared/api.ts';
import { readDraft } from './draft.ts';
import Practice from './Practice.tsx';
import { type FrameProps, newSeed, type Own, type Surface } from './surface.ts';

/** Practice at the desk: craft, marks and records are the server's; drawings and looks are computed in the page. */
export default function PracticeAtDesk(props: { role: string; person: string; onLeave: () => void }) {
  const { role, person, onLeave } = props;
  const cache = useQueryClient();
  const keeps = role === 'steward' || role === 'technician' || role === 'manager';
  // biome-ignore lint/correctness/useExhaustiveDependencies: made once for who is signed in
  const surface = useMemo(
    () =>
      surfaceOf(keeps, person, onLeave, () => {
        for (const key of ['skill', 'standings']) void cache.invalidateQueries({ queryKey: [key] });
      }),
    [keeps, person],
  );
  useEffect(() => {
    // What is under way outlives a reload, but not the window.
    const ask = (event: BeforeUnloadEvent) => {
      if (sessionStorage.getItem(draftKey(person))) event.preventDefault();
    };
    addEventListener('beforeunload', ask);
    return () => removeEventListener('beforeunload', ask);
  }, [person]);
  return (
    <Speak language="en">
      <Practice surface={surface} />
    </Speak>
  );
}

/** The page's own frame: what is read on one side, the acts below it; focus goes to the top of what is new. */
function Desk({ children, acts, at }: FrameProps) {
  const say = useSay();
  const top = useRef<HTMLDivElement>(null);
  const first = useRef(true);
  // biome-ignore lint/correctness/useExhaustiveDependencies: focus moves when the screen shows another thing, and only then
  useEffect(() => {
    if (!first.current) {
      scrollTo(0, 0);
      top.current?.focus({ preventScroll: true });
    }
    first.current = false;
  }, [at]);
  return (
    <div className="desk on-paper" ref={top} tabIndex={-1}>
      {children}
      {acts ? (
        <section className="desk-acts" aria-label={say('acts.label')}>
          {acts as ReactNode}
        </section>
      ) : null}
    </div>
  );
}

// The server's schema and the engine's types describe the same JSON from the same Go types.
const as = <T,>(v: unknown): T => v as T;

/** Kept for the person, so that whoever signs in next in the same window does not find it. */
const draftKey = (person: string) => `drill/${person}`;

function surfaceOf(keeps: boolean, person: string, leave: () => void, changed: () => void): Surface {
  return {
    Frame: Desk,
    actsBeside: true,
    handbook: '/api/handbook',
    own: async () => as<Own>(await answer(api.GET('/api/practice'))),
    make: async (setup, difficulty) =>
      as<DrillCraft>(
        await answer(api.POST('/api/drills', { body: { class: setup.class, difficulty, seed: newSeed() } })),
      ),
    score: async (drill, turn, startedAt, endedAt) => {
      const body = { drill, turn, startedAt: startedAt.toISOString(), endedAt: endedAt.toISOString(), keep: keeps };
      const out = await answer(api.POST('/api/drills/score', { body: as<Schemas['DrillTurn']>(body) }));
      changed();
      return { score: as<Score>(out.score), kept: out.kept ? 'desk' : 'no' };
    },
    ask: async (count) => as<Quiz>(await answer(api.POST('/api/quizzes', { body: { count, seed: newSeed() } }))),
    mark: async (quiz, chosen, startedAt, endedAt) => {
      const body = { quiz, chosen, startedAt: startedAt.toISOString(), endedAt: endedAt.toISOString(), keep: keeps };
      const out = await answer(api.POST('/api/quizzes/mark', { body: as<Schemas['QuizChosen']>(body) }));
      changed();
      return { marked: as<Marked>(out), kept: out.kept ? 'desk' : 'no' };
    },
    draft: {
      read: async () => readDraft(JSON.parse(sessionStorage.getItem(draftKey(person)) ?? 'null')),
      keep: async (draft) => {
        if (draft) sessionStorage.setItem(draftKey(person), JSON.stringify(draft));
        else sessionStorage.removeItem(draftKey(person));
      },
    },
    leave,
  };
}
