import { type ReactNode, useEffect, useRef, useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { Schemas } from '../../../shared/api.ts';
import { How as Told } from '../../parts/How.tsx';
import { say, type Word } from '../../words.ts';
import './traffic.css';
import { amount, type Interval, span } from './traffic.ts';

const pages: [string, Word][] = [
  ['/traffic', 'traffic.flows'],
  ['/traffic/arrivals', 'traffic.arrivals'],
  ['/traffic/sources', 'traffic.sources'],
  ['/traffic/model', 'traffic.model'],
];

/** The way between the pages for traffic. */
export function SubPages() {
  const [here] = useLocation();
  return (
    <nav className="subpages" aria-label={say('traffic.pages')}>
      {pages.map(([path, word]) => (
        <Link key={path} href={path} aria-current={here === path ? 'page' : undefined}>
          {say(word)}
        </Link>
      ))}
    </nav>
  );
}

/** What a reader has to know before using a number, in plain words above the numbers. */
export function Warnings({ of }: { of: Schemas['Caveat'][] | null }) {
  if (!of?.length) return null;
  return (
    <section className="caveats" aria-labelledby="caveats">
      <h2 id="caveats">{say('traffic.warnings')}</h2>
      <ul>
        {of.map((w) => (
          <li key={w.code + w.text}>
            {w.text}
            {w.names && w.names.length > 5 ? (
              <details>
                <summary>{say('traffic.about', { n: w.names.length })}</summary>
                {w.names.join(', ')}
              </details>
            ) : null}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** How the numbers above it came about; with the card of the model where they rest on it. */
export function How({ children, card }: { children: ReactNode; card?: boolean }) {
  return <Told links={card ? [['/traffic/model', say('traffic.cardLink')]] : []}>{children}</Told>;
}

/** A number with its interval in words and as a line from end to end with a dot at the mean. */
export function Range({ of, top, what }: { of: Interval; top: number; what: string }) {
  const x = (v: number) => 4 + (Math.min(v, top) / (top || 1)) * 152;
  return (
    <span className="range">
      <b className="num">{amount(of.mid)}</b>
      <svg
        viewBox="0 0 160 16"
        width="160"
        height="16"
        role="img"
        aria-label={`${what}: ${amount(of.mid)} (${span(of)})`}
      >
        <path d="M4 15.5H156" className="base" />
        <path d={`M${x(of.lo)} 8H${x(of.hi)}M${x(of.lo)} 4V12M${x(of.hi)} 4V12`} className="reach" />
        <circle cx={x(of.mid)} cy="8" r="4" />
      </svg>
      <span className="when">{say('traffic.span', { lo: amount(of.lo), hi: amount(of.hi) })}</span>
    </span>
  );
}

/** Draws at the width there is, so that letters keep their size on a phone. */
export function Sized({ children }: { children: (width: number) => ReactNode }) {
  const frame = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState(640);
  useEffect(() => {
    if (!frame.current) return;
    const watch = new ResizeObserver(([entry]) => {
      if (entry) setWidth(Math.max(240, Math.floor(entry.contentRect.width)));
    });
    watch.observe(frame.current);
    return () => watch.disconnect();
  }, []);
  return (
    <div ref={frame} className="sized">
      {children(Math.min(width, 900))}
    </div>
  );
}

/** A list of which only the first are shown until all are asked for. */
export function useFirst<T>(list: T[] | null, first = 10): [T[], ReactNode] {
  const [all, setAll] = useState(false);
  const items = list ?? [];
  const button =
    items.length > first ? (
      <p>
        <button type="button" aria-expanded={all} onClick={() => setAll(!all)}>
          {all ? say('sources.few', { n: first }) : say('sources.all', { n: items.length })}
        </button>
      </p>
    ) : null;
  return [all ? items : items.slice(0, first), button];
}
