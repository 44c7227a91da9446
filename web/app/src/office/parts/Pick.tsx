import type { ChangeEvent, ReactNode } from 'react';
import { useKind } from '../data.ts';
import { say } from '../words.ts';

export type Option = readonly [value: string, word: ReactNode];

interface Choice {
  word: string;
  options: readonly Option[];
  /** Said where none is chosen; left out: one always is. */
  any?: string;
  className?: string;
}

/** A choice that the page follows at once, or a field of a form that is read when it is sent. */
type Kept =
  | { value: string | undefined; set: (value: string) => void }
  | { name: string; first?: string | number; required?: boolean };

/** One of several, with its name above it. */
export function Pick(props: Choice & Kept) {
  const kept =
    'set' in props
      ? { value: props.value ?? '', onChange: (event: ChangeEvent<HTMLSelectElement>) => props.set(event.target.value) }
      : { name: props.name, defaultValue: props.first, required: props.required };
  return (
    <label className={props.className}>
      {props.word}
      <select {...kept}>
        {props.any === undefined ? null : <option value="">{props.any}</option>}
        {props.options.map(([value, word]) => (
          <option key={value} value={value}>
            {word}
          </option>
        ))}
      </select>
    </label>
  );
}

/** Things by their name, in the order of names. */
export const byName = (things: readonly { id: string; name: string }[]): Option[] =>
  [...things].sort((a, b) => a.name.localeCompare(b.name)).map((t) => [t.id, t.name]);

/** A day, with its name above it. */
export function PickDay(props: { word: string; value: string | undefined; set: (value: string) => void }) {
  return (
    <label>
      {props.word}
      <input type="date" value={props.value ?? ''} onChange={(event) => props.set(event.target.value)} />
    </label>
  );
}

/** One of the launches. */
export function PickLaunch(props: { value: string | undefined; set: (value: string) => void; any: string }) {
  const launches = useKind('launch');
  return <Pick {...props} word={say('ledger.launch')} options={(launches.data ?? []).map((l) => [l.id, l.name])} />;
}
