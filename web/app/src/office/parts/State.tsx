import type { ReactNode } from 'react';
import { say } from '../words.ts';

/** Said while a page is being read. No motion: the words are enough. */
export function Reading() {
  return <p className="state reading">{say('state.reading')}</p>;
}

/**
 * Parts of a page, one below the other. All are asked for at once, and each is shown when those above it have been read, so
 * that nothing is pushed down while it is looked at. Parts say that they are being read by Reading; the style does the rest.
 */
export function InTurn({ children }: { children: ReactNode }) {
  return <div className="in-turn">{children}</div>;
}

/** What figures are of. While others are read those from before stay, and in its own place this says that they are read anew. */
export function Standing({ anew, children }: { anew: boolean; children: ReactNode }) {
  return <span role="status">{anew ? say('state.anew') : children}</span>;
}

export function Missing() {
  return <p className="state">{say('state.nothing')}</p>;
}

/** Said where something could not be read, with what the server said and a way on. */
export function Trouble({ error, again }: { error: Error; again?: () => void }) {
  return (
    <div className="state trouble" role="alert">
      <p>
        <strong>{say('state.trouble')}</strong> {error.message}
      </p>
      {again ? (
        <button type="button" onClick={again}>
          {say('state.again')}
        </button>
      ) : null}
    </div>
  );
}
