import type { ReactNode } from 'react';
import { Link } from 'wouter';
import { say } from '../words.ts';

/** How the numbers above it came about, and where to read on. */
export function How({ children, links = [] }: { children: ReactNode; links?: [href: string, word: string][] }) {
  return (
    <details className="how">
      <summary>{say('traffic.how')}</summary>
      <p>{children}</p>
      {links.map(([href, word]) => (
        <p key={href}>
          <Link href={href}>{word}</Link>
        </p>
      ))}
    </details>
  );
}
