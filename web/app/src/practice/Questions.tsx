import { useEffect, useState } from 'react';
import type { Quiz } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { whyOf } from '../parts/why.ts';
import type { QuizDone, Surface } from './surface.ts';

/** How many questions there are at a time: a few minutes' worth (common practice, no source). */
const COUNT = 6;
const NONE = -1;

/** Questions on judgement, one at a time; then which were right, and why. */
export function Questions({ surface, onBack }: { surface: Surface; onBack: () => void }) {
  const say = useSay();
  const { Frame } = surface;
  const [round, setRound] = useState(0);
  const [quiz, setQuiz] = useState<Quiz>();
  const [startedAt, setStartedAt] = useState(new Date());
  const [chosen, setChosen] = useState<readonly number[]>([]);
  const [done, setDone] = useState<QuizDone>();
  const [trouble, setTrouble] = useState<string>();
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked anew for each round, and only then
  useEffect(() => {
    setQuiz(undefined);
    setChosen([]);
    setDone(undefined);
    setStartedAt(new Date());
    surface.ask(COUNT).then(setQuiz, (e: unknown) => setTrouble(whyOf(say, e)));
  }, [round]);
  if (trouble) {
    return (
      <Frame acts={<Go onClick={onBack}>{say('practice.back')}</Go>}>
        <h1>{say('practice.questions')}</h1>
        <p className="trouble" role="alert">
          {trouble}
        </p>
      </Frame>
    );
  }
  if (!quiz) {
    return (
      <Frame>
        <h1>{say('practice.questions')}</h1>
        <p role="status">{say('quiz.making')}</p>
      </Frame>
    );
  }
  if (done) return <Marks {...{ surface, quiz, done, onBack }} onAgain={() => setRound(round + 1)} />;
  const n = chosen.length;
  const q = quiz.questions[n];
  const choose = async (option: number) => {
    const all = [...chosen, option];
    setChosen(all);
    if (all.length === quiz.questions.length) {
      surface.mark(quiz, all, startedAt, new Date()).then(setDone, (e: unknown) => setTrouble(whyOf(say, e)));
    }
  };
  if (!q) {
    return (
      <Frame>
        <h1>{say('practice.questions')}</h1>
      </Frame>
    );
  }
  return (
    <Frame
      at={`question ${n}`}
      acts={
        <Tiles label={q.text} across={1}>
          {q.options.map((o, i) => (
            <Tile key={o} onClick={() => choose(i)}>
              {o}
            </Tile>
          ))}
          <Tile onClick={() => choose(NONE)}>{say('quiz.skip')}</Tile>
        </Tiles>
      }
    >
      <p className="leg-of">{say('quiz.of', { n: n + 1, all: quiz.questions.length })}</p>
      <h1 className="question">{q.text}</h1>
    </Frame>
  );
}

function Marks({
  surface,
  quiz,
  done,
  onAgain,
  onBack,
}: {
  surface: Surface;
  quiz: Quiz;
  done: QuizDone;
  onAgain: () => void;
  onBack: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const { marked, kept } = done;
  return (
    <Frame at="marks" acts={<Go onClick={onAgain}>{say('quiz.another')}</Go>}>
      <h1>{say('quiz.title', { right: marked.right, asked: marked.asked })}</h1>
      <p className="quiet">{say('quiz.rules', { ref: quiz.protocol })}</p>
      <p className="quiet" role="status">
        {say(kept === 'phone' ? 'after.keptPhone' : kept === 'desk' ? 'after.keptDesk' : 'after.notKept')}
      </p>
      <ol className="marks">
        {marked.answers.map((a, i) => (
          <li key={a.n}>
            <p>{quiz.questions[i]?.text}</p>
            <p>
              <strong className={a.ok ? 'mark-right' : 'mark-wrong'}>{say(a.ok ? 'quiz.right' : 'quiz.wrong')}</strong>{' '}
              {a.chosen ? say('quiz.yours', { what: a.chosen }) : say('quiz.none')}
            </p>
            {a.ok ? null : <p>{say('quiz.answer', { what: a.right })}</p>}
            <p>{a.why}</p>
            {a.source ? <p className="source">{a.source}</p> : null}
          </li>
        ))}
      </ol>
      <Link icon="undo" onClick={onBack}>
        {say('practice.back')}
      </Link>
    </Frame>
  );
}
