import { useState } from 'react';
import { number } from '../messages/format.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { type Boat, undone } from './boat.ts';
import { Frame } from './Frame.tsx';
import { usePrefs } from './prefs.ts';
import { go } from './route.ts';
import { call, useAnswer, useRamp } from './state.tsx';
import { useWalk } from './useWalk.ts';

const budgetsS = [60, 120, 180, 300] as const;

/** Too few minutes for every place: where they do most, and what is given up. The places left out count as not looked at. */
export function ShortOfTime({ boat }: { boat: Boat }) {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const ramp = useRamp();
  const [budgetS, setBudget] = useState<number>(120);
  const walk = useWalk(boat, usePrefs().turned).value;
  const { value: plan, error } = useAnswer(
    async () => call('shortOfTime', { case: await ramp.caseFor(boat), budgetS }),
    [boat, budgetS],
  );
  const take = async () => {
    if (!plan || !walk) return;
    const skipped = new Set(plan.skipped ?? []);
    const stops = walk.round.stops.filter((s) => skipped.has(s.place) && !boat.checks.has(s.place));
    if (!(await ramp.act(boat.id, { do: 'short', budgetS, note: say('note.short', { s: budgetS }) }))) return;
    if (stops.length)
      await ramp.act(boat.id, { do: 'checks', checks: stops.map((s) => undone(s, say('unchecked.noTime'), false, 0)) });
    go('boat', boat.id);
  };
  const per = (p: number) => number(locale, Math.round(p * 100), 0);
  return (
    <Frame
      leave={() => go('boat', boat.id)}
      at="short"
      acts={
        <>
          <Tile icon="undo" onClick={() => go('boat', boat.id)}>
            {say('short.full')}
          </Tile>
          <Go disabled={!plan || !walk} onClick={take}>
            {say('short.take')}
          </Go>
        </>
      }
    >
      <h1>{say('short.title')}</h1>
      <Tiles>
        {budgetsS.map((b) => (
          <Tile key={b} pressed={b === budgetS} onClick={() => setBudget(b)}>
            {say('short.minutes', { n: b / 60 })}
          </Tile>
        ))}
      </Tiles>
      {error ? <p className="wrong">{error}</p> : null}
      {plan ? (
        <>
          <p className="box">
            {say('short.finds', { short: per(plan.detection), full: per(plan.fullDetection) })}{' '}
            {say('short.skips', { n: plan.skipped?.length ?? 0 })}
          </p>
          <p>{say('short.stricter')}</p>
          <ul className="rows">
            {plan.spots
              .filter((s) => s.seconds < s.fullS - 0.5)
              .sort((a, b) => b.givenUp - a.givenUp)
              .slice(0, 12)
              .map((s) => (
                <li key={s.place} className="given-up">
                  <span className="row-name">{s.name}</span>
                  <span className="num">
                    {say('short.of', { s: Math.round(s.seconds), full: Math.round(s.fullS) })}
                  </span>
                </li>
              ))}
          </ul>
          {plan.notes.map((n) => (
            <p key={n}>{n}</p>
          ))}
        </>
      ) : null}
    </Frame>
  );
}
