import { useQueryClient } from '@tanstack/react-query';
import { type FormEvent, type ReactNode, useId, useState } from 'react';
import { Problem } from '../../shared/api.ts';
import { say } from '../words.ts';
import { Said } from './Correct.tsx';
import { type Body, dotted, type Field } from './Input.tsx';
import { Fields } from './Rows.tsx';

/** What the server said to what was sent, as its client gives it. */
export interface Sent<T> {
  data?: T;
  error?: unknown;
  response: Response;
}

/**
 * A form of fields. The server checks; what it finds wrong is said beside the field it names, or above the form where it names
 * none of them, and nothing typed is lost.
 */
export function Form<T>(props: {
  fields: Field[];
  body: Body;
  set: (body: Body) => void;
  send: (body: Body) => Promise<Sent<T>>;
  act: string;
  done: (saved: T) => void;
  leave?: () => void;
  children?: ReactNode;
}) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem | string>();
  const id = useId();
  const faults = problem instanceof Problem ? problem.fields.map((f) => ({ ...f, at: dotted(f.field) })) : [];
  const keep = async (event: FormEvent) => {
    event.preventDefault();
    const { data, error, response } = await props.send(props.body);
    if (error !== undefined || data === undefined) {
      setProblem(response.status === 412 ? say('boat.overtaken') : new Problem(response.status, error));
      return;
    }
    setProblem(undefined);
    await cache.invalidateQueries();
    props.done(data);
  };
  const beside = (path: string) => props.fields.some((f) => path === f.path || path.startsWith(`${f.path}.`));
  const allBeside = faults.length > 0 && faults.every((f) => beside(f.at));
  return (
    <form className="record-form" onSubmit={keep} noValidate>
      {problem && !allBeside ? <Said problem={problem} /> : null}
      <Fields
        fields={props.fields}
        body={props.body}
        set={props.set}
        wrong={(path) => faults.find((f) => f.at === path)}
        id={id}
      />
      {props.children}
      <p>
        <button type="submit" className="main">
          {props.act}
        </button>{' '}
        {props.leave ? (
          <button type="button" onClick={props.leave}>
            {say('boat.cancel')}
          </button>
        ) : null}
      </p>
    </form>
  );
}
