import type { ReactNode } from 'react';
import { type Key, type Language, useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { Frame } from './Frame.tsx';
import { type Prefs, setPrefs, usePrefs } from './prefs.ts';
import { back } from './route.ts';

/** How this phone shows things: nothing here changes a record. */
export function Settings() {
  const say = useSay();
  const p = usePrefs();
  const choice = (key: Key, list: readonly { word: ReactNode; sub?: Key; change: Partial<Prefs>; on: boolean }[]) => (
    <section aria-label={say(key)}>
      <h2>{say(key)}</h2>
      <Tiles across={list.length > 2 ? 3 : 2}>
        {list.map((c, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: a fixed list
          <Tile key={i} pressed={c.on} sub={c.sub && say(c.sub)} onClick={() => setPrefs(c.change)}>
            {c.word}
          </Tile>
        ))}
      </Tiles>
    </section>
  );
  const language = (l: Language & ('en' | 'es' | 'fr')) => ({
    word: <span lang={l}>{say(`settings.lang.${l}`)}</span>,
    change: { language: l },
    on: p.language === l,
  });
  return (
    <Frame acts={<Go onClick={back}>{say('walk.back')}</Go>}>
      <h1>{say('settings.title')}</h1>
      {choice('settings.hand', [
        { word: say('settings.left'), change: { hand: 'left' }, on: p.hand === 'left' },
        { word: say('settings.right'), change: { hand: 'right' }, on: p.hand === 'right' },
      ])}
      {choice('settings.sun', [
        { word: say('settings.sunOff'), change: { sun: false }, on: !p.sun },
        { word: say('settings.sunOn'), change: { sun: true }, on: p.sun },
      ])}
      <p>{say('settings.bright')}</p>
      {choice('settings.units', [
        { word: say('settings.metric'), change: { units: 'metric' }, on: p.units === 'metric' },
        { word: say('settings.us'), change: { units: 'us' }, on: p.units === 'us' },
      ])}
      {choice('settings.walk', [
        { word: say('settings.walkUsual'), change: { turned: false }, on: !p.turned },
        { word: say('settings.walkTurned'), change: { turned: true }, on: p.turned },
      ])}
      {choice('settings.sound', [
        { word: say('settings.on'), change: { sound: true }, on: p.sound },
        { word: say('settings.off'), change: { sound: false }, on: !p.sound },
      ])}
      {choice('settings.language', [language('en'), language('es'), language('fr')])}
    </Frame>
  );
}
