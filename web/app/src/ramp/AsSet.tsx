import { Fragment, type ReactNode, useEffect, useState } from 'react';
import { engine, practiceEngine } from '../engine/index.ts';
import { bookOf, spokenIn } from '../messages/engine.ts';
import { directionOf, type Language, localeOf, Speak } from '../messages/index.tsx';
import { usePrefs } from './prefs.ts';

/** Shows everything below it as this phone is set: in its language and direction, for its hand, larger in the sun. */
export function AsSet({ children }: { children: ReactNode }) {
  const { language, hand, sun } = usePrefs();
  useEffect(() => {
    const root = document.documentElement;
    root.lang = localeOf(language);
    root.dir = directionOf(language);
    root.dataset.hand = hand;
    root.dataset.sun = sun ? 'on' : 'off';
  }, [language, hand, sun]);
  const heard = useEngineIn(spokenIn(language));
  // Answers that stand on a screen are asked for anew in another language.
  return <Speak language={language}>{heard && <Fragment key={heard}>{children}</Fragment>}</Speak>;
}

/** Has the engine speak a language, and gives the one it speaks; nothing before the first one is known. */
function useEngineIn(language: Language): Language | undefined {
  const [heard, setHeard] = useState<Language | undefined>(language === 'en' ? 'en' : undefined);
  useEffect(() => {
    if (language === heard) return;
    let stale = false;
    bookOf(language)
      .catch(() => ({ words: {} })) // a file that was never fetched: what is known is said in English
      .then((book) => {
        if (stale) return;
        engine.remember('tongue.load', book);
        practiceEngine.remember('tongue.load', book);
        setHeard(language);
      });
    return () => {
      stale = true;
    };
  }, [language, heard]);
  return heard;
}
