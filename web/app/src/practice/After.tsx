import { useState } from 'react';
import type { ItemScore, OutcomeWord, Picture, Score } from '../engine/types.ts';
import { type Key, useSay } from '../messages/index.tsx';
import { PlateGlyph, plateKind } from '../parts/Plate.tsx';
import { Go, Link } from '../parts/Tiles.tsx';
import { CraftPicture, useDrawing, type View, Views } from './CraftPicture.tsx';
import type { Doing } from './drill.ts';
import type { Scored, Surface } from './surface.ts';

/** How the drill went: the verdicts side by side, what was missed and why it matters, the way walked, the time at each place. */
export function After({
  surface,
  doing,
  scored,
  outcomes,
  onAgain,
  onBack,
}: {
  surface: Surface;
  doing: Doing;
  scored: Scored;
  outcomes: readonly OutcomeWord[];
  onAgain: () => void;
  onBack: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const { score, kept } = scored;
  const missed = score.items.filter((i) => !i.found);
  const found = score.items.filter((i) => i.found);
  return (
    <Frame at="after" acts={<Go onClick={onAgain}>{say('after.another')}</Go>}>
      <h1>{say('after.title')}</h1>
      <Verdicts score={score} outcomes={outcomes} />
      <dl className="facts">
        <dt>{say('after.found')}</dt>
        <dd>
          {score.planted === 0 ? say('after.none') : say('after.of', { found: score.found, planted: score.planted })}
        </dd>
        <dt>{say('after.alarms')}</dt>
        <dd>{score.falseAlarms}</dd>
        <dt>{say('after.done')}</dt>
        <dd>{say('after.of', { found: score.path.done, planted: score.path.places })}</dd>
        <dt>{say('after.time')}</dt>
        <dd>{say('after.minutes', { m: Math.floor(score.seconds / 60), s: Math.round(score.seconds % 60) })}</dd>
      </dl>
      <p className="quiet" role="status">
        {say(kept === 'phone' ? 'after.keptPhone' : kept === 'desk' ? 'after.keptDesk' : 'after.notKept')}
      </p>
      <Things title={say('after.missed')} items={missed} />
      <Way doing={doing} score={score} />
      <Things title={say('after.foundList')} items={found} />
      <Nothing score={score} />
      {score.treatment?.right.length ? (
        <section>
          <h2>{say('after.treatment')}</h2>
          <ol className="reasons">
            {score.treatment.right.map((s, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: the order is the answer
              <li key={i}>
                <strong>
                  {say(`step.${s.kind}` as Key)}
                  {s.part ? `: ${say(`part.${s.part}` as Key)}` : ''}
                </strong>{' '}
                {s.do}
              </li>
            ))}
          </ol>
        </section>
      ) : null}
      <section>
        <h2>{say('after.words')}</h2>
        <ul className="reasons">
          {score.debrief.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </section>
      <Times doing={doing} score={score} />
      <Link icon="undo" onClick={onBack}>
        {say('practice.back')}
      </Link>
    </Frame>
  );
}

function Verdicts({ score, outcomes }: { score: Score; outcomes: readonly OutcomeWord[] }) {
  const say = useSay();
  const word = (id: string) => outcomes.find((o) => o.id === id)?.plate ?? id;
  const v = score.verdict;
  return (
    <section className="verdicts">
      {(['yours', 'right'] as const).map((which) => (
        <div key={which} className={`verdict-card plate-${plateKind(v[which])}`}>
          <span>{say(`after.${which}`)}</span>
          <PlateGlyph kind={plateKind(v[which])} />
          <strong>{word(v[which])}</strong>
        </div>
      ))}
      {v.why.length ? (
        <details>
          <summary>{say('after.why')}</summary>
          <ul className="reasons">
            {v.why.map((w) => (
              <li key={w}>{w}</li>
            ))}
          </ul>
        </details>
      ) : null}
    </section>
  );
}

function Things({ title, items }: { title: string; items: readonly ItemScore[] }) {
  const say = useSay();
  if (items.length === 0) return null;
  return (
    <section>
      <h2>{title}</h2>
      <ul className="reasons">
        {items.map((i) => (
          <li key={i.place + i.name}>
            <strong>{i.name}</strong>: {i.at} ({say(`after.how.${i.how}` as Key)}).
            {i.why ? <span className="row-say">{i.why}</span> : null}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** False alarms, and what was there only to look like something. */
function Nothing({ score }: { score: Score }) {
  const say = useSay();
  return (
    <>
      {score.alarms.length ? (
        <section>
          <h2>{say('after.alarmList')}</h2>
          <ul className="reasons">
            {score.alarms.map((a, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: two alarms at one place may read the same
              <li key={i}>{a.words}</li>
            ))}
          </ul>
        </section>
      ) : null}
      {score.decoys.length ? (
        <details className="details-of">
          <summary>{say('after.decoys')}</summary>
          <ul className="reasons">
            {score.decoys.map((d) => (
              <li key={d.place + d.name}>
                <strong>{d.name}</strong> ({say(d.taken ? 'after.taken' : 'after.left')}). {d.tell}
              </li>
            ))}
          </ul>
        </details>
      ) : null}
    </>
  );
}

/** The way walked, drawn over the craft: finds, misses and false alarms each by a shape of their own. */
function Way({ doing, score }: { doing: Doing; score: Score }) {
  const say = useSay();
  const [view, setView] = useState<View>('plan');
  const found = score.items.filter((i) => i.found).map((i) => i.place);
  const missed = score.items.filter((i) => !i.found).map((i) => i.place);
  const alarms = score.alarms.map((a) => a.place);
  const drawn = useDrawing({ setup: doing.drill.order.setup, round: doing.round, view, done: score.path.stops, found });
  const words = say('after.pathAlt', { found: found.length, missed: missed.length });
  return (
    <section aria-label={say('after.path')}>
      <h2>{say('after.path')}</h2>
      <p className="hidden-words">{words}</p>
      <CraftPicture drawn={drawn}>{drawn ? <Marks drawn={drawn} {...{ score, missed, alarms }} /> : null}</CraftPicture>
      <Views view={view} onView={setView} />
      <p className="way-key">
        <svg viewBox="0 0 28 20" aria-hidden="true">
          <path className="way-line" d="M1 10 H27" />
        </svg>
        {say('after.key.path')}
        <svg viewBox="0 0 28 20" aria-hidden="true">
          <path className="way-found" d="M14 2 L22 10 L14 18 L6 10 Z" />
        </svg>
        {say('after.key.found')}
        <svg viewBox="0 0 28 20" aria-hidden="true">
          <circle className="way-missed" cx="14" cy="10" r="8" />
        </svg>
        {say('after.key.missed')}
        <svg viewBox="0 0 28 20" aria-hidden="true">
          <rect className="way-alarm" x="7" y="3" width="14" height="14" />
        </svg>
        {say('after.key.alarm')}
      </p>
    </section>
  );
}

function Marks({
  drawn,
  score,
  missed,
  alarms,
}: {
  drawn: Picture;
  score: Score;
  missed: readonly string[];
  alarms: readonly string[];
}) {
  const at = (place: string) => drawn.at?.[place];
  const r = drawn.width < 500 ? 11 : 16; // of the rings, in units of the drawing
  const line = score.path.stops.flatMap((s) => at(s) ?? []);
  const points = Array.from({ length: line.length / 2 }, (_, i) => `${line[2 * i]} ${line[2 * i + 1]}`);
  return (
    <>
      <path className="way-line" d={points.length ? `M${points.join(' L')}` : ''} />
      {missed.map((m) => {
        const p = at(m);
        return p ? <circle key={m} className="way-missed" cx={p[0]} cy={p[1]} r={r} /> : null;
      })}
      {[...new Set(alarms)].map((m) => {
        const p = at(m);
        return p ? (
          <rect key={m} className="way-alarm" x={p[0] - r + 2} y={p[1] - r + 2} width={2 * r - 4} height={2 * r - 4} />
        ) : null;
      })}
    </>
  );
}

/** Seconds at each place beside what a full look takes there. */
function Times({ doing, score }: { doing: Doing; score: Score }) {
  const say = useSay();
  const spent = new Map<string, number>();
  for (const s of doing.walk) spent.set(s.place, (spent.get(s.place) ?? 0) + s.seconds);
  const most = Math.max(1, ...doing.drill.places.map((p) => Math.max(p.seconds, spent.get(p.id) ?? 0)));
  const skipped = new Set(score.path.skipped.map((s) => s.place));
  return (
    <details className="details-of">
      <summary>{say('after.timeEach')}</summary>
      <table className="times">
        <thead>
          <tr>
            <th scope="col">{say('after.place')}</th>
            <th scope="col">{say('after.you')}</th>
            <th scope="col">{say('after.usual')}</th>
          </tr>
        </thead>
        <tbody>
          {doing.round.round.stops.map((s) => {
            const usual = doing.drill.places.find((p) => p.id === s.place)?.seconds ?? 0;
            const mine = spent.get(s.place) ?? 0;
            return (
              <tr key={s.place}>
                <th scope="row">
                  {s.name}
                  <svg viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
                    <rect className="time-usual" width={(100 * usual) / most} height="6" />
                    <rect className="time-mine" width={(100 * mine) / most} height="3" />
                  </svg>
                </th>
                <td>{skipped.has(s.place) ? say('after.notThere') : say('after.seconds', { s: Math.round(mine) })}</td>
                <td>{say('after.seconds', { s: Math.round(usual) })}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </details>
  );
}
