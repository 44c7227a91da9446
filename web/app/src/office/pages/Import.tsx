import { useId, useState } from 'react';
import { Link } from 'wouter';
import { api, Problem, type Schemas } from '../../shared/api.ts';
import { useKind, useMe, useProgramme } from '../data.ts';
import { byGravity, fieldOf, idOf, type Mapping, mapped, named, type Report } from '../imports.ts';
import { Said } from '../parts/Correct.tsx';
import { Form } from '../parts/Form.tsx';
import type { Body, Field } from '../parts/Input.tsx';
import { Table } from '../parts/Table.tsx';
import { plain } from '../records.ts';
import { en, say, type Word } from '../words.ts';

type Head = Schemas['TableHead'];

/** A word of the messages where there is one, else the plain reading of the server's own word. */
const wordOf = (group: string, value: string) => {
  const key = `${group}.${value}`;
  return key in en ? say(key as Word) : plain(value);
};

/** The parts of a form as the server takes it; the client's types know no files. */
function sending(table: File, mapping?: Mapping) {
  const form = new FormData();
  form.set('table', table);
  if (mapping) form.set('mapping', JSON.stringify(mapping));
  return { body: form as never };
}

/** Brings an old table in: the columns guessed and corrected, tried without keeping anything, then kept whole. */
export default function Import() {
  const me = useMe();
  const [table, setTable] = useState<{ file: File; head: Head; guess: Mapping }>();
  const [problem, setProblem] = useState<Problem>();
  const programme = useProgramme();
  const id = useId();
  const choose = async (file: File | undefined) => {
    setTable(undefined);
    setProblem(undefined);
    if (!file) return;
    const head = await api.POST('/api/import/headings', sending(file));
    const guess = await api.POST('/api/import/mapping', sending(file));
    if (head.data && guess.data) {
      const zone = guess.data.zone || (programme.data?.zone ?? '');
      setTable({ file, head: head.data, guess: { ...guess.data, zone } });
    } else {
      const wrong = head.error ? head : guess;
      setProblem(new Problem(wrong.response.status, wrong.error));
    }
  };
  return (
    <>
      <p className="crumb">
        <Link href="/ledger">{say('ledger.title')}</Link>
      </p>
      <h1>{say('import.title')}</h1>
      <p className="lead">{say('import.lead')}</p>
      {me.data?.role === 'manager' ? (
        <div className="field">
          <label htmlFor={id}>{say('import.file')}</label>
          <input
            id={id}
            type="file"
            accept=".csv,.tsv,.txt,.xlsx"
            aria-describedby={`${id}-hint`}
            onChange={(event) => void choose(event.target.files?.[0])}
          />
          <small id={`${id}-hint`}>{say('import.fileHint')}</small>
        </div>
      ) : (
        <p>{say('import.managers')}</p>
      )}
      {problem ? <Said problem={problem} /> : null}
      {table ? <Mapped key={`${table.file.name} ${table.file.lastModified}`} {...table} /> : null}
    </>
  );
}

function Mapped({ file, head, guess }: { file: File; head: Head; guess: Mapping }) {
  const [mapping, setMapping] = useState(guess);
  const [tried, setTried] = useState<Report>();
  const [asked, setAsked] = useState<Schemas['NameAsked'][]>([]);
  const [kept, setKept] = useState<Schemas['ImportReceipt']>();
  const [problem, setProblem] = useState<Problem>();
  const fields = useSettings(head);
  const change = (next: Mapping) => {
    setMapping(next);
    setTried(undefined); // what was tried was another reading
  };
  const keep = async () => {
    const { data, error, response } = await api.POST('/api/import', sending(file, mapping));
    setProblem(data ? undefined : new Problem(response.status, error));
    if (data) setKept(data.kept);
  };
  if (kept) return <Done of={kept} />;
  return (
    <>
      <Columns {...{ head, mapping }} set={change} />
      {asked.length ? <Names of={asked} mapping={mapping} set={change} /> : null}
      <h2>{say('import.settings')}</h2>
      <Form<Schemas['ImportResult']>
        fields={fields}
        body={{ ...mapping, dates: mapping.dates?.length === 1 ? mapping.dates[0] : undefined } as Body}
        set={({ dates, ...rest }) => change({ ...(rest as unknown as Mapping), dates: dates ? [String(dates)] : [] })}
        send={() => api.POST('/api/import/preview', sending(file, mapping))}
        act={say('import.try')}
        done={({ report }) => {
          setTried(report);
          setAsked(report.names ?? []);
        }}
      />
      {tried ? (
        <>
          <Tried of={tried} />
          {tried.refused > 0 ? <p>{say('import.keepSome', { n: tried.refused })}</p> : null}
          {problem ? <Said problem={problem} /> : null}
          <p>
            <button type="button" className="main" disabled={tried.taken === 0} onClick={() => void keep()}>
              {say('import.keep', { n: tried.taken })}
            </button>
          </p>
        </>
      ) : null}
    </>
  );
}

function useSettings(head: Head): Field[] {
  const launches = useKind('launch');
  const people = useKind('person');
  const none = say('import.none');
  const unit = (path: string, word: Word, units: string[]): Field => ({
    path: `units.${path}`,
    word: say(word),
    kind: 'choice',
    options: units.map((value) => ({ value, word: value })),
  });
  return [
    { path: 'zone', word: say('field.zone'), kind: 'text', required: true, hint: say('import.zoneHint') },
    {
      path: 'dates',
      word: say('import.dates'),
      kind: 'choice',
      none: say('import.datesAny'),
      options: head.dates.map((value) => ({ value, word: wordOf('import.date', value) })),
      hint: say('import.datesHint'),
    },
    { ...unit('length', 'import.length', ['m', 'ft']), none: 'm' },
    { ...unit('temp', 'import.temp', ['C', 'F']), none: 'C' },
    { ...unit('volume', 'import.volume', ['L', 'gal']), none: 'L' },
    {
      path: 'launch',
      word: say('import.launch'),
      kind: 'choice',
      none,
      options: (launches.data ?? []).map((l) => ({ value: l.id, word: l.name })),
    },
    {
      path: 'steward',
      word: say('import.steward'),
      kind: 'choice',
      none,
      options: (people.data ?? []).map((p) => ({ value: p.id, word: p.name })),
    },
  ];
}

function Columns({ head, mapping, set }: { head: Head; mapping: Mapping; set: (m: Mapping) => void }) {
  return (
    <section>
      <h2>{say('import.columns')}</h2>
      <p>{say('import.columnsLead')}</p>
      <Table
        label={say('import.columns')}
        rows={head.headings.filter((h) => h.heading)}
        id={(h) => h.heading}
        parts={[
          { head: say('import.heading'), cell: (h) => h.heading },
          {
            head: say('import.is'),
            cell: (h) => (
              <select
                aria-label={say('import.isOf', { heading: h.heading })}
                value={fieldOf(mapping, h.heading)}
                onChange={(event) => set(mapped(mapping, h.heading, event.target.value))}
              >
                <option value="">{say('import.notRead')}</option>
                {head.fields.map((f) => (
                  <option key={f} value={f}>
                    {plain(f)}
                  </option>
                ))}
              </select>
            ),
          },
          { head: say('import.cells'), cell: (h) => h.samples.join(' · ') },
        ]}
      />
    </section>
  );
}

/** How many lines of a report are shown; the counts above tell of all. */
const SHOWN = 200;

function Tried({ of }: { of: Report }) {
  const counts = [
    ['import.rows', of.rows],
    ['import.taken', of.taken],
    ['import.refused', of.refused],
    ['import.duplicates', of.duplicates],
    ['import.noTime', of.noTime],
    ['import.shifts', of.shifts],
  ] as const;
  const all = of.lines.length + (of.linesLeft ?? 0);
  const lines = byGravity(of.lines).slice(0, SHOWN);
  return (
    <section className="effect" role="status">
      <h2>{say('import.report')}</h2>
      <dl className="facts">
        {counts.map(([word, n]) => (
          <div key={word}>
            <dt>{say(word)}</dt>
            <dd>{n}</dd>
          </div>
        ))}
      </dl>
      {of.names?.length ? <p>{say('import.namesAbove', { n: of.names.length })}</p> : null}
      {all === 0 ? (
        <p>{say('import.linesNone')}</p>
      ) : (
        <details>
          <summary>{say('import.lines')}</summary>
          <p className="when">{say('import.linesFirst', { n: lines.length, all })}</p>
          <Table
            label={say('import.lines')}
            rows={lines}
            id={(l) => `${l.row} ${l.field} ${l.level} ${l.accepted}`}
            parts={[
              { head: say('import.row'), n: true, cell: (l) => l.row },
              { head: say('import.level'), cell: (l) => wordOf('import.level', l.level) },
              { head: say('import.field'), cell: (l) => (l.field ? plain(l.field) : '') },
              { head: say('import.value'), cell: (l) => (l.value ? `“${l.value}”` : '') },
              { head: say('import.accepted'), cell: (l) => [l.accepted, l.fix].filter(Boolean).join('; ') },
            ]}
          />
        </details>
      )}
    </section>
  );
}

/** Names the programme does not know: each is given the record it stands for, and then the table is tried again. */
function Names(props: { of: Schemas['NameAsked'][]; mapping: Mapping; set: (m: Mapping) => void }) {
  const lists = { waters: useKind('water').data, launches: useKind('launch').data, people: useKind('person').data };
  return (
    <section>
      <h2>{say('import.names')}</h2>
      <p>{say('import.namesLead')}</p>
      <div className="fields">
        {props.of.map((asked) => {
          const kind = asked.kind as keyof typeof lists;
          const near = new Set(asked.ids ?? []);
          const options = [...(lists[kind] ?? [])].sort((a, b) => Number(near.has(b.id)) - Number(near.has(a.id)));
          const chosen = idOf(props.mapping, asked.kind, asked.name);
          const value = chosen === undefined ? 'undecided' : chosen || 'out';
          return (
            <label key={`${asked.kind} ${asked.name}`}>
              {say('import.nameOf', { kind: wordOf('import.kind', kind), name: asked.name, rows: asked.rows })}
              <select
                value={value}
                onChange={({ target }) => {
                  const id = target.value === 'undecided' ? undefined : target.value === 'out' ? '' : target.value;
                  props.set(named(props.mapping, asked.kind, asked.name, id));
                }}
              >
                <option value="undecided">{say('import.undecided')}</option>
                <option value="out">{say('import.leaveOut')}</option>
                {options.map((o) => (
                  <option key={o.id} value={o.id}>
                    {o.name}
                  </option>
                ))}
              </select>
            </label>
          );
        })}
      </div>
    </section>
  );
}

function Done({ of }: { of: Schemas['ImportReceipt'] }) {
  return (
    <div className="effect" role="status">
      <p>{say('import.kept', { n: of.stored, had: of.had })}</p>
      <p>
        <Link href="/ledger">{say('import.ledger')}</Link>
      </p>
    </div>
  );
}
