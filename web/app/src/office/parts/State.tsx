import { say } from '../words.ts';

/** Said while a page is being read. No motion: the words are enough. */
export function Reading() {
  return <p className="state">{say('state.reading')}</p>;
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
