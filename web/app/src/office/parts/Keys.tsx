import { useEffect, useRef, useState } from 'react';
import { useLocation } from 'wouter';
import { places } from '../places.ts';
import { say } from '../words.ts';

const kept = 'office.keys';

/** Whether single keys do something. Who speaks to the computer, or presses keys by accident, turns them off. */
const on = () => localStorage.getItem(kept) !== 'off';

const typing = (event: KeyboardEvent) =>
  event.target instanceof HTMLElement && event.target.closest('input, textarea, select, [contenteditable]') !== null;

/** Does something for a single key, wherever nothing is being typed. */
export function useKey(press: (key: string, event: KeyboardEvent) => void) {
  const latest = useRef(press);
  latest.current = press;
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (!on() || typing(event) || event.ctrlKey || event.metaKey || event.altKey) return;
      latest.current(event.key, event);
    };
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  }, []);
}

/** The keys of the office: ? shows them, g and a letter goes to a page. */
export function Keys() {
  const dialog = useRef<HTMLDialogElement>(null);
  const [, go] = useLocation();
  const [works, setWorks] = useState(on);
  const going = useRef(0);
  useKey((key, event) => {
    if (key === '?') {
      event.preventDefault();
      dialog.current?.showModal();
    } else if (key === 'g') going.current = event.timeStamp;
    else if (event.timeStamp - going.current < 1500) {
      going.current = 0;
      const place = places.find((p) => p.key === key);
      if (!place) return;
      event.preventDefault();
      go(place.path);
    }
  });
  return (
    <>
      <button type="button" onClick={() => dialog.current?.showModal()}>
        {say('keys.open')}
      </button>
      <dialog ref={dialog} className="keys" aria-labelledby="keys-title">
        <p id="keys-title" className="title">
          {say('keys.title')}
        </p>
        <p>{say('keys.lead')}</p>
        <table>
          <tbody>
            <Row keys="/" does={say('keys.find')} />
            <Row keys="?" does={say('keys.help')} />
            {places
              .filter((p) => p.key)
              .map((p) => (
                <Row key={p.path} keys={`g ${p.key}`} does={say('keys.goes', { page: say(p.word) })} />
              ))}
          </tbody>
        </table>
        <p>{say('keys.rows')}</p>
        <p>{say('keys.map')}</p>
        <label className="tick">
          <input
            type="checkbox"
            checked={works}
            onChange={(event) => {
              localStorage.setItem(kept, event.target.checked ? 'on' : 'off');
              setWorks(event.target.checked);
            }}
          />
          {say('keys.on')}
        </label>
        <p className="when">{say('keys.onHint')}</p>
        <form method="dialog">
          <button type="submit" className="main">
            {say('keys.close')}
          </button>
        </form>
      </dialog>
    </>
  );
}

function Row({ keys, does }: { keys: string; does: string }) {
  return (
    <tr>
      <th scope="row">
        {keys.split(' ').map((k) => (
          <kbd key={k}>{k}</kbd>
        ))}
      </th>
      <td>{does}</td>
    </tr>
  );
}
