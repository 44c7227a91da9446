import type { ReactNode } from 'react';

/** A box that scrolls sideways where the window is narrow; it can be reached and scrolled by key. */
export function Wide({ label, children }: { label: string; children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls has to be reachable by key
    <section className="wide" aria-label={label} tabIndex={0}>
      {children}
    </section>
  );
}
