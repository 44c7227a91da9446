import { type ReactNode, useEffect, useState } from 'react';
import { useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { Frame } from './Frame.tsx';
import { back } from './route.ts';
import { differing } from './twice.ts';

/** A field of a printed sheet: its number and name are those on the paper, and so is its place in the order. */
export function Field({ n, name, tally, children }: FieldProps) {
  const say = useSay();
  return (
    <div className="field">
      <label htmlFor={`key-${name}`}>
        <span className="num">{n}</span> {say(tally ? `tally.${name as 'refused'}` : `key.${name as 'day'}`)}
      </label>
      {children}
    </div>
  );
}
interface FieldProps {
  readonly n: number;
  readonly name: string;
  readonly tally?: boolean;
  readonly children: ReactNode;
}

/** What hurts most when it is wrong, to be keyed a second time without sight of the first. */
export interface Twice {
  readonly name: string;
  readonly value: string;
  readonly input: (id: string, value: string, onChange: (v: string) => void) => ReactNode;
  /** Another word than key.<name>, such as the name of a wash step. */
  readonly label?: string;
}

/** The second keying of a sheet's fields that matter; what is kept is kept only once both agree. */
export function KeyTwice({ fields, onBack, onKeep }: KeyTwiceProps) {
  const say = useSay();
  const [again, setAgain] = useState<ReadonlyMap<string, string>>(new Map());
  const differ = differing(fields, again);
  const word = (f: { name: string; label?: string }) => f.label ?? say(`key.${f.name as 'day'}`);
  const [at, setAt] = useState('');
  // Half a number is not wrong yet: it is said once the hand is at another field, or this one holds as much as the first time.
  const wrong = (f: Twice) =>
    differ.includes(f.name) &&
    (again.get(f.name) ?? '') !== '' &&
    (f.name !== at || (again.get(f.name) ?? '').trim().length >= f.value.trim().length);
  // What is said of a field pushes it down; it comes back to where the eye is, with the words above it.
  const wrongHere = fields.some((f) => f.name === at && wrong(f)) ? at : '';
  useEffect(() => {
    if (wrongHere) document.getElementById(`again-${wrongHere}`)?.scrollIntoView({ block: 'center' });
  }, [wrongHere]);
  return (
    <Frame
      at="twice"
      acts={
        <>
          <Tile icon="undo" onClick={onBack}>
            {say('key.backToCard')}
          </Tile>
          <Go disabled={differ.length > 0} onClick={onKeep}>
            {say('key.keep')}
          </Go>
        </>
      }
    >
      <h1>{say('key.twice')}</h1>
      <p>{say('key.twiceWhy')}</p>
      {fields.map((f) => (
        <div className="field" key={f.name}>
          <label htmlFor={`again-${f.name}`}>{word(f)}</label>
          <p role="status" className="wrong">
            {wrong(f) ? say('key.differ', { field: word(f) }) : ''}
          </p>
          {f.input(`again-${f.name}`, again.get(f.name) ?? '', (v) => {
            setAt(f.name);
            setAgain(new Map(again).set(f.name, v));
          })}
        </div>
      ))}
    </Frame>
  );
}
interface KeyTwiceProps {
  readonly fields: readonly Twice[];
  readonly onBack: () => void;
  readonly onKeep: () => void;
}

/** The frame of a sheet that is being keyed. */
export function KeyCard({ ready, onNext, children }: { ready: boolean; onNext: () => void; children: ReactNode }) {
  const say = useSay();
  return (
    <Frame
      at="card"
      acts={
        <>
          <Tile icon="undo" onClick={back}>
            {say('walk.back')}
          </Tile>
          <Go disabled={!ready} onClick={onNext}>
            {say('key.onward')}
          </Go>
        </>
      }
    >
      <h1>{say('home.paper')}</h1>
      {children}
    </Frame>
  );
}

/** Yes, no, or left blank on the paper. */
export function YesNo({ n, name, value, onChange }: YesNoProps) {
  const say = useSay();
  return (
    <section aria-label={say(`key.${name}`)}>
      <h2>
        <span className="num">{n}</span> {say(`key.${name}`)}
      </h2>
      <Tiles across={3}>
        {(['yes', 'no', ''] as const).map((v) => (
          <Tile key={v} pressed={value === v} onClick={() => onChange(v)}>
            {say(`key.answer.${v === '' ? 'blank' : v}`)}
          </Tile>
        ))}
      </Tiles>
    </section>
  );
}
interface YesNoProps {
  readonly n: number;
  readonly name: 'plugs' | 'drive' | 'rest';
  readonly value: '' | 'yes' | 'no';
  readonly onChange: (v: '' | 'yes' | 'no') => void;
}

export const dateInput = (max: string) => (id: string, value: string, onChange: (v: string) => void) => (
  <input id={id} type="date" value={value} max={max} onChange={(e) => onChange(e.target.value)} />
);
export const timeInput = (id: string, value: string, onChange: (v: string) => void) => (
  <input id={id} type="time" value={value} onChange={(e) => onChange(e.target.value)} />
);
export const textInput =
  (most: number, capitals = true) =>
  (id: string, value: string, onChange: (v: string) => void) => (
    <input
      id={id}
      value={value}
      maxLength={most}
      autoComplete="off"
      autoCapitalize={capitals ? 'characters' : 'off'}
      spellCheck={false}
      onChange={(e) => onChange(e.target.value)}
    />
  );
export const numberInput = (id: string, value: string, onChange: (v: string) => void) => (
  <input
    id={id}
    value={value}
    maxLength={7}
    inputMode="decimal"
    autoComplete="off"
    onChange={(e) => onChange(e.target.value)}
  />
);

/** A day and a time of day as they stand on the sheet, with this phone's offset. */
export const clockOf = (day: string, time: string) => new Date(`${day}T${time}:00`);

/** What every form does with a sheet: key it, and say when it is kept. */
export interface SheetProps {
  readonly number: string;
  readonly onKept: () => void;
}
