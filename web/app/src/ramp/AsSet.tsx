import { type ReactNode, useEffect } from 'react';
import { directionOf, localeOf, Speak } from '../messages/index.tsx';
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
  return <Speak language={language}>{children}</Speak>;
}
