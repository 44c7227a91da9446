import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link, useLocation, useParams } from 'wouter';
import { answer, api, type BodyOf } from '../../shared/api.ts';
import { type Kind, type Named, useKind, useMe } from '../data.ts';
import { launchFields, personFields, unitFields } from '../kinds.ts';
import { Certify } from '../parts/Certify.tsx';
import { History } from '../parts/History.tsx';
import { type Body, type Field, valueAt } from '../parts/Input.tsx';
import { RecordForm } from '../parts/RecordForm.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { Wide } from '../parts/Wide.tsx';
import { plain } from '../records.ts';
import { curriculumFields } from '../training.ts';
import { say, type Word } from '../words.ts';

/** A register of simple records: a table of all, a page of each, and a form that adds and corrects. */
interface Register {
  kind: Kind;
  path: string;
  title: Word;
  add: Word;
  fields: (waters: Named[], launches: Named[]) => Field[];
  columns: string[];
  /** What a new record begins as. */
  start?: Record<string, unknown>;
}

const registers: Record<string, Register> = {
  launches: {
    kind: 'launch',
    path: '/launches',
    title: 'nav.launches',
    add: 'launches.add',
    fields: (w) => launchFields(w),
    columns: ['water', 'lanes', 'opens', 'closes', 'partner'],
    start: { at: [0, 0], lanes: 1 },
  },
  kit: {
    kind: 'unit',
    path: '/kit',
    title: 'nav.kit',
    add: 'kit.add',
    fields: (_, l) => unitFields(l),
    columns: ['launch', 'unit.burnerKW', 'unit.flowLPerMin', 'unit.tankL', 'outOfService'],
    start: { unit: {} },
  },
  people: {
    kind: 'person',
    path: '/people',
    title: 'nav.people',
    add: 'people.add',
    fields: () => personFields(),
    columns: ['roles', 'partner', 'left'],
  },
  curricula: {
    kind: 'curriculum',
    path: '/practice/curricula',
    title: 'curricula.title',
    add: 'curricula.add',
    fields: () => curriculumFields(),
    columns: ['for', 'months', 'parts'],
    start: { parts: [{}] },
  },
};

export function Launches() {
  return <List of={registers.launches as Register} />;
}
export function Kit() {
  return <List of={registers.kit as Register} />;
}
export function People() {
  return <List of={registers.people as Register} />;
}
export function Curricula() {
  return <List of={registers.curricula as Register} />;
}
export function OneCurriculum() {
  return <One of={registers.curricula as Register} />;
}
export function OneLaunch() {
  return <One of={registers.launches as Register} />;
}
export function OneUnit() {
  return <One of={registers.kit as Register} />;
}
export function OnePerson() {
  return <One of={registers.people as Register} />;
}

/** The fields of a register, and whether the names that may stand in them are still being read. */
function useFields(of: Register): [Field[], boolean] {
  const waters = useKind('water');
  const launches = useKind('launch');
  return [of.fields(waters.data ?? [], launches.data ?? []), waters.isPending || launches.isPending];
}

/** A value as people read it: the word of a choice, yes for a tick, the day of a date. */
function shown(field: Field, value: unknown): string {
  if (value === undefined || value === null || value === '') return '';
  if (field.kind === 'tick') return value === true ? 'yes' : '';
  if (field.kind === 'date') return String(value).slice(0, 10);
  if (field.kind === 'rows') return (value as { name?: string }[]).map((row) => row.name ?? '').join(', ');
  const word = (v: unknown) => field.options?.find((o) => o.value === v)?.word ?? plain(String(v));
  return Array.isArray(value) ? value.map(word).join(', ') : field.options ? word(value) : String(value);
}

function List({ of }: { of: Register }) {
  const read = useKind(of.kind);
  const [fields, reading] = useFields(of);
  const me = useMe();
  const [adding, setAdding] = useState(false);
  const [, go] = useLocation();
  if (read.isPending || reading) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const columns = of.columns.map((path) => fields.find((f) => f.path === path)).filter((f) => f !== undefined);
  return (
    <>
      <h1>{say(of.title)}</h1>
      {me.data?.role !== 'manager' ? null : adding ? (
        <RecordForm
          kind={of.kind}
          fields={fields}
          start={of.start ?? {}}
          done={(saved) => (saved ? go(`${of.path}/${saved.subject}`) : setAdding(false))}
        />
      ) : (
        <p>
          <button type="button" onClick={() => setAdding(true)}>
            {say(of.add)}
          </button>
        </p>
      )}
      <Wide label={say(of.title)}>
        <table className="roomy">
          <thead>
            <tr>
              <th scope="col">{say('field.name')}</th>
              {columns.map((f) => (
                <th key={f.path} scope="col" className={f.kind === 'number' ? 'n' : undefined}>
                  {f.word}
                  {f.unit ? ` (${f.unit})` : ''}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {[...read.data]
              .sort((a, b) => a.name.localeCompare(b.name))
              .map((thing) => (
                <tr key={thing.id}>
                  <th scope="row">
                    <Link href={`${of.path}/${thing.id}`}>{thing.name}</Link>
                  </th>
                  {columns.map((f) => (
                    <td key={f.path} className={f.kind === 'number' ? 'n' : undefined}>
                      {shown(f, valueAt(thing.body, f.path))}
                    </td>
                  ))}
                </tr>
              ))}
          </tbody>
        </table>
      </Wide>
    </>
  );
}

function One({ of }: { of: Register }) {
  const { id = '' } = useParams();
  const [fields] = useFields(of);
  const me = useMe();
  const [editing, setEditing] = useState(false);
  const read = useQuery({
    queryKey: ['subject', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}', { params: { path: { id } } })),
  });
  const history = useQuery({
    queryKey: ['history', id],
    queryFn: () => answer(api.GET('/api/subjects/{id}/history', { params: { path: { id } } })),
  });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const body = read.data.body;
  return (
    <>
      <p className="crumb">
        <Link href={of.path}>{say(of.title)}</Link>
      </p>
      <h1>{String(valueAt(body, 'name') ?? '')}</h1>
      <dl className="facts">
        {fields.slice(1).map((f) => (
          <div key={f.path}>
            <dt>
              {f.word}
              {f.unit ? ` (${f.unit})` : ''}
            </dt>
            <dd>
              {f.line ? (
                <ol>
                  {((valueAt(body, f.path) as Body[] | undefined) ?? []).map((row) => (
                    <li key={f.line?.(row)}>{f.line?.(row)}</li>
                  ))}
                </ol>
              ) : (
                shown(f, valueAt(body, f.path)) || say('boat.unknown')
              )}
            </dd>
          </div>
        ))}
      </dl>
      {of.kind === 'launch' ? (
        <p>
          <Link href={`/ledger?launch=${id}`}>{say('launches.ledger')}</Link>
        </p>
      ) : null}
      {of.kind === 'person' ? (
        <p>
          <Link href={`/ledger?steward=${id}`}>{say('people.ledger')}</Link>
        </p>
      ) : null}
      {of.kind === 'curriculum' ? <Certify id={id} of={body as BodyOf<'curriculum'>} /> : null}
      {me.data?.role !== 'manager' ? null : editing ? (
        <RecordForm kind={of.kind} fields={fields} subject={read.data} done={() => setEditing(false)} />
      ) : (
        <p>
          <button type="button" onClick={() => setEditing(true)}>
            {say('boat.correct')}
          </button>
        </p>
      )}
      <History entries={history.data?.items ?? []} />
    </>
  );
}
