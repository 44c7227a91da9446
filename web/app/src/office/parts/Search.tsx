import { useQueries } from '@tanstack/react-query';
import { type FormEvent, useId, useRef, useState } from 'react';
import { Link } from 'wouter';
import type { BodyOf } from '../../shared/api.ts';
import { type Kind, kindQuery, type Named, useMe, useProtocols } from '../data.ts';
import { places } from '../places.ts';
import { say, type Word } from '../words.ts';
import { useKey } from './Keys.tsx';

interface Found {
  href: string;
  name: string;
  what: Word;
}

/** Where the things of each kind are read. Views open the ledger as it was kept. */
const kinds: { kind: Kind; what: Word; href: (thing: Named) => string }[] = [
  { kind: 'water', what: 'search.water', href: (t) => `/waters/${t.id}` },
  { kind: 'launch', what: 'search.launch', href: (t) => `/launches/${t.id}` },
  { kind: 'unit', what: 'search.unit', href: (t) => `/kit/${t.id}` },
  { kind: 'person', what: 'search.person', href: (t) => `/people/${t.id}` },
  { kind: 'incident', what: 'search.incident', href: (t) => `/incidents/${t.id}` },
  { kind: 'view', what: 'search.view', href: (t) => `/ledger?${(t.body as BodyOf<'view'>).filter ?? ''}` },
  { kind: 'plan', what: 'search.plan', href: (t) => `/plan?kept=${t.id}` },
];

const folded = (text: string) => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();

/** Everything that has a name, read once somebody looks for something. */
function useEverything(looking: boolean): Found[] {
  const me = useMe();
  const read = useQueries({ queries: kinds.map(({ kind }) => kindQuery(kind, looking)) });
  const protocols = useProtocols(looking).data?.items ?? [];
  const pages = places.filter((p) => p.path !== '/phones' || me.data?.role === 'manager');
  return [
    ...pages.map((p): Found => ({ href: p.path, name: say(p.word), what: 'search.page' })),
    ...kinds.flatMap(({ what, href }, i) =>
      (read[i]?.data ?? []).flatMap((thing) =>
        [thing.name, ...('also' in thing.body ? (thing.body.also ?? []) : [])].map(
          (name): Found => ({ href: href(thing), name, what }),
        ),
      ),
    ),
    ...protocols.map(
      (p): Found => ({ href: `/rules/${encodeURIComponent(p.ref)}`, name: p.title, what: 'search.protocol' }),
    ),
  ];
}

/** Finds whatever has a name, and a record by its id. The key / goes there. */
export function Search() {
  const [text, setText] = useState('');
  const [looking, setLooking] = useState(false);
  const box = useRef<HTMLInputElement>(null);
  const id = useId();
  const all = useEverything(looking);
  useKey((key, event) => {
    if (key !== '/') return;
    event.preventDefault();
    box.current?.focus();
  });
  const wanted = folded(text.trim());
  const found = wanted.length < 2 ? [] : all.filter((f) => folded(f.name).includes(wanted)).slice(0, 12);
  if (/^[0-9a-f]{8}-[0-9a-f-]{27}$/.test(wanted)) {
    found.unshift({ href: `/ledger/${wanted}`, name: wanted.slice(-8), what: 'search.record' });
  }
  const stay = (event: FormEvent) => event.preventDefault();
  return (
    <search>
      <form className="search" onSubmit={stay}>
        <label htmlFor={id}>{say('search.label')}</label>
        <input
          id={id}
          ref={box}
          type="search"
          value={text}
          onFocus={() => setLooking(true)}
          onChange={(event) => setText(event.target.value)}
          autoComplete="off"
        />
        {wanted.length >= 2 ? (
          <ul role="status">
            {found.map((f) => (
              <li key={f.href + f.name}>
                <Link href={f.href} onClick={() => setText('')}>
                  {f.name} <span className="when">{say(f.what)}</span>
                </Link>
              </li>
            ))}
            {found.length === 0 ? <li>{say('search.none')}</li> : null}
          </ul>
        ) : null}
      </form>
    </search>
  );
}
