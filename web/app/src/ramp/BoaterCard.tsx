import { useState } from 'react';
import { sayIn, useSay } from '../messages/index.tsx';
import { Plate, plateKind } from '../parts/Plate.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { back } from './route.ts';
import { call, useAnswer, useRamp } from './state.tsx';
import { useJudgement } from './VerdictScreen.tsx';

/** Languages that the screens around the card have too. */
const known = ['en', 'es', 'fr'] as const;
type Spoken = (typeof known)[number];

/** One screen to turn towards the boater: the word, what was found, what to do now; another language is one tap away. */
export function BoaterCard({ boat }: { boat: Boat }) {
  const say = useSay();
  const { caseFor } = useRamp();
  const [language, setLanguage] = useState<Spoken>('en');
  const languages = useAnswer(() => call('boater.languages', {}), []).value?.languages ?? [];
  const { value: judged } = useJudgement(boat);
  const computed = boat.sealed?.verdict ?? judged?.verdict;
  const given = boat.override?.outcome;
  const verdict = computed && (given ? { ...computed, outcome: given, now: given } : computed);
  const { value: card } = useAnswer(
    async () => {
      if (!verdict) return undefined;
      const treatment =
        verdict.outcome === 'launch'
          ? undefined
          : (await call('treat', await caseFor(boat)).catch(() => undefined))?.treatment;
      return call('boater.card', {
        verdict,
        ...(treatment ? { treatment } : {}),
        language,
        offsetMin: -new Date().getTimezoneOffset(),
      });
    },
    [verdict?.outcome, verdict?.reasons, language],
    true,
  );
  const theirs = sayIn(language);
  return (
    <Frame
      at="card"
      acts={
        <>
          <Tiles across={3} label={theirs('boater.language')}>
            {languages
              .filter((l) => known.includes(l.code as Spoken))
              .map((l) => (
                <Tile key={l.code} pressed={l.code === language} onClick={() => setLanguage(l.code as Spoken)}>
                  <span lang={l.code}>{l.name}</span>
                </Tile>
              ))}
          </Tiles>
          <Go onClick={back}>{say('boater.turn')}</Go>
        </>
      }
    >
      {card ? (
        <div lang={card.language} className="boater">
          <Plate kind={plateKind(card.outcome)} word={card.word}>
            <p>{card.say}</p>
          </Plate>
          {card.time ? <p className="big-answer">{card.time}</p> : null}
          {card.found.length ? (
            <section>
              <h2>{card.foundIs}</h2>
              <ul>
                {card.found.map((f) => (
                  <li key={f}>{f}</li>
                ))}
              </ul>
            </section>
          ) : null}
          {card.do.length ? (
            <section>
              <h2>{card.doIs}</h2>
              <ol>
                {card.do.map((d) => (
                  <li key={d}>{d}</li>
                ))}
              </ol>
            </section>
          ) : null}
          {card.practice ? <p>{card.practice}</p> : null}
        </div>
      ) : null}
    </Frame>
  );
}
