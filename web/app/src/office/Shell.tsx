import { useQueryClient } from '@tanstack/react-query';
import { type ReactNode, useState } from 'react';
import { Link, useRoute } from 'wouter';
import { api, type Schemas } from '../shared/api.ts';
import { Hull } from '../shared/Hull.tsx';
import './office.css';
import './plan.css';
import './dark.css';
import { zoneWords } from './clock.ts';
import { Keys } from './parts/Keys.tsx';
import { Search } from './parts/Search.tsx';
import { places } from './places.ts';
import { say, type Word } from './words.ts';

/** The frame of every page: the mark, the pages, who is signed in. */
export function Shell({ me, children }: { me: Schemas['SignedIn']; children: ReactNode }) {
  const [open, setOpen] = useState(false);
  const cache = useQueryClient();
  const leave = async () => {
    await api.POST('/api/sign-out');
    cache.clear();
    await cache.invalidateQueries();
    location.reload();
  };
  return (
    <>
      <a className="skip" href="#page">
        {say('nav.skip')}
      </a>
      {me.demo ? (
        <p className="demo">
          <strong>{say('demo.word')}</strong> {say('demo.banner')}
        </p>
      ) : null}
      <div className="frame">
        <header className="side">
          <Link href="/" className="brand">
            <Hull state="across" /> Thwart
          </Link>
          <button type="button" className="menu" aria-expanded={open} onClick={() => setOpen(!open)}>
            {say('nav.menu')}
          </button>
          <nav aria-label={say('nav.menu')} className={open ? 'open' : undefined} onClickCapture={() => setOpen(false)}>
            <Search />
            <ul>
              {places.map((place) => (
                <li key={place.path} className={place.after}>
                  <Place path={place.path} word={place.word} />
                </li>
              ))}
            </ul>
            <p className="me">
              {say(`role.${me.role}`)}{' '}
              <button onClick={leave} type="button">
                {say('signout.act')}
              </button>
              <Keys />
              <span className="when">{say('nav.zone', { zone: zoneWords() })}</span>
            </p>
          </nav>
        </header>
        <main id="page" tabIndex={-1}>
          {children}
        </main>
      </div>
    </>
  );
}

function Place({ path, word }: { path: string; word: Word }) {
  const [here] = useRoute(path === '/' ? '/' : `${path}/*?`);
  return (
    <Link href={path} aria-current={here ? 'page' : undefined}>
      {say(word)}
    </Link>
  );
}
