import { say } from '../words.ts';
import { type Body, type Field, Input, valueAt, type Wrong, withValue } from './Input.tsx';

/** A list of lines in a record, each a small form of its own: lines are added at the end and taken out one by one. */
export function Rows(props: {
  legend: string;
  fields: (row: Body) => Field[];
  rows: Body[];
  set: (rows: Body[]) => void;
  wrong: (row: number, path: string) => Wrong | undefined;
  id: string;
}) {
  const { rows, set } = props;
  return (
    <fieldset className="rows">
      <legend>{props.legend}</legend>
      <ol>
        {rows.map((row, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: lines have no name but their place
          <li key={`${i} of ${rows.length}`}>
            <Fields
              fields={props.fields(row)}
              body={row}
              set={(next) => set(rows.map((r, k) => (k === i ? next : r)))}
              wrong={(path) => props.wrong(i, path)}
              id={`${props.id}.${i}.`}
            />
            <button type="button" onClick={() => set(rows.filter((_, k) => k !== i))}>
              {say('rules.form.takeRow', { n: i + 1 })}
            </button>
          </li>
        ))}
      </ol>
      <button type="button" onClick={() => set([...rows, {}])}>
        {say('rules.form.addRow')}
      </button>
    </fieldset>
  );
}

/** The fields of a record: those that hold one value side by side, lists of lines below them. */
export function Fields(props: {
  fields: Field[];
  body: Body;
  set: (body: Body) => void;
  wrong: (path: string) => Wrong | undefined;
  id: string;
}) {
  const { body, set, wrong } = props;
  return (
    <>
      <div className="fields">
        {props.fields
          .filter((f) => f.kind !== 'rows')
          .map((f) => (
            <Input
              key={f.path}
              field={f}
              id={`${props.id}${f.path}`}
              value={valueAt(body, f.path)}
              set={(value) => set(withValue(body, f.path, value))}
              wrong={wrong(f.path)}
            />
          ))}
      </div>
      {props.fields
        .filter((f) => f.kind === 'rows')
        .map((f) => (
          <Rows
            key={f.path}
            id={`${props.id}${f.path}`}
            legend={f.word}
            fields={f.of ?? (() => [])}
            rows={(valueAt(body, f.path) as Body[] | undefined) ?? []}
            set={(rows) => set(withValue(body, f.path, rows))}
            wrong={(row, path) => wrong(`${f.path}.${row}.${path}`)}
          />
        ))}
    </>
  );
}
