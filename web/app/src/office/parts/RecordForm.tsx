import { useState } from 'react';
import { api, type Schemas } from '../../shared/api.ts';
import { say } from '../words.ts';
import { Form } from './Form.tsx';
import type { Body, Field } from './Input.tsx';

/** Adds a record or corrects one, field by field. A correction asks why. */
export function RecordForm(props: {
  kind: string;
  fields: Field[];
  subject?: Schemas['Subject'];
  start?: Body;
  done: (saved?: Schemas['Subject']) => void;
}) {
  const { subject } = props;
  const [body, setBody] = useState<Body>(() => (subject?.body as Body | undefined) ?? props.start ?? {});
  const [why, setWhy] = useState('');
  const send = (now: Body) =>
    subject
      ? api.POST('/api/subjects/{id}/corrections', {
          params: { path: { id: subject.subject }, header: { 'If-Match': `"${subject.id}"` } },
          body: { why, body: now as never },
        })
      : api.POST('/api/subjects', { body: { kind: props.kind as never, body: now as never } });
  return (
    <Form<Schemas['Subject']>
      fields={props.fields}
      body={body}
      set={setBody}
      send={send}
      act={say(subject ? 'boat.save' : 'form.add')}
      done={props.done}
      leave={() => props.done()}
    >
      {subject ? (
        <label className="why">
          {say('boat.why')}
          <input value={why} onChange={(event) => setWhy(event.target.value)} required maxLength={500} />
        </label>
      ) : null}
    </Form>
  );
}
