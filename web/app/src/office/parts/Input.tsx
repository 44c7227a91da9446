import { instant, wall } from '../clock.ts';
import { say } from '../words.ts';

/** One field of a record: where it stands in the body, what it is called, how it is asked. */
export interface Field {
  path: string;
  word: string;
  kind: 'text' | 'long' | 'number' | 'choice' | 'many' | 'tick' | 'date' | 'moment' | 'lines' | 'rows';
  unit?: string;
  options?: { value: string; word: string }[];
  required?: boolean;
  hint?: string;
  /** A tick that is not set is kept as false, for records that say no in so many words. */
  no?: boolean;
  /** Its text is a word of a vocabulary: people read its underscores as spaces. */
  vocabulary?: boolean;
  /** What a choice says where nothing is chosen; left out: not known. */
  none?: string;
  /** The fields of a line, for a list of lines. */
  of?: (row: Body) => Field[];
  /** A line in words, where it is read rather than written. */
  line?: (row: Body) => string;
}

export type Body = Record<string, unknown>;

export function valueAt(body: unknown, path: string): unknown {
  return path.split('.').reduce<unknown>((at, key) => (at as Body | undefined)?.[key], body);
}

/** The body with one value changed; what the form does not know stays as it is. An empty value is taken out. */
export function withValue(body: Body, path: string, value: unknown): Body {
  const [key = '', ...rest] = path.split('.');
  const empty = value === '' || value === undefined || value === null;
  if (rest.length === 0) {
    const { [key]: _, ...others } = body;
    return empty ? others : { ...body, [key]: value };
  }
  const inner = withValue((body[key] as Body | undefined) ?? {}, rest.join('.'), value);
  const list = Array.isArray(body[key]) || (body[key] === undefined && /^\d+$/.test(rest[0] ?? ''));
  return { ...body, [key]: list ? Object.values(inner) : inner };
}

/** A path of the server, such as body.body.wash[2].part, as a form has it. */
export const dotted = (field: string) => field.replace(/^(body\.(body\.)?|mapping\.)/, '').replace(/\[(\d+)\]/g, '.$1');

export interface Wrong {
  value: string;
  accepted: string;
}

interface InputProps {
  field: Field;
  id: string;
  value: unknown;
  set: (value: unknown) => void;
  wrong: Wrong | undefined;
}

export function Input(props: InputProps) {
  const { field, id, wrong } = props;
  const said = wrong ? `${id}-wrong` : undefined;
  const hint = field.hint ? `${id}-hint` : undefined;
  if (field.kind === 'many') return <Many {...props} />;
  return (
    <div className={wrong ? 'field wrong' : 'field'}>
      <label htmlFor={id}>
        {field.word}
        {field.unit ? ` (${field.unit})` : ''}
        {field.required || field.kind === 'tick' ? '' : ` ${say('form.optional')}`}
      </label>
      <Box {...props} described={[hint, said].filter(Boolean).join(' ') || undefined} />
      {field.hint ? <small id={hint}>{field.hint}</small> : null}
      {wrong ? (
        <p id={said} className="said">
          {wrong.value ? `“${wrong.value}”. ` : ''}
          {say('form.accepted', { what: wrong.accepted })}
        </p>
      ) : null}
    </div>
  );
}

function Box({ field, id, value, set, wrong, described }: InputProps & { described: string | undefined }) {
  const common = { id, 'aria-invalid': wrong ? true : undefined, 'aria-describedby': described };
  const text = value === undefined || value === null ? '' : String(value);
  switch (field.kind) {
    case 'choice':
      return (
        <select {...common} value={text} onChange={(event) => set(event.target.value)}>
          <option value="">{field.none ?? say('boat.unknown')}</option>
          {field.options?.map((o) => (
            <option key={o.value} value={o.value}>
              {o.word}
            </option>
          ))}
        </select>
      );
    case 'tick':
      return (
        <input
          {...common}
          type="checkbox"
          checked={value === true}
          onChange={(event) => set(event.target.checked || (field.no ? false : undefined))}
        />
      );
    case 'date':
      return (
        <input
          {...common}
          type="date"
          value={text.slice(0, 10)}
          onChange={(event) => set(event.target.value && `${event.target.value}T00:00:00Z`)}
        />
      );
    case 'moment':
      return (
        <input
          {...common}
          type="datetime-local"
          defaultValue={text && wall(text)}
          onChange={(event) => set(instant(event.target.value))}
        />
      );
    case 'number':
      return (
        <input
          {...common}
          inputMode="decimal"
          defaultValue={text}
          onChange={(event) => {
            const typed = event.target.value.trim();
            set(typed === '' ? undefined : Number.isFinite(Number(typed)) ? Number(typed) : typed);
          }}
        />
      );
    case 'lines':
      return (
        <textarea
          {...common}
          rows={3}
          defaultValue={Array.isArray(value) ? value.join('\n') : ''}
          onChange={(event) => {
            const lines = event.target.value.split('\n').filter((line) => line.trim());
            set(lines.length ? lines : undefined);
          }}
        />
      );
    case 'long':
      return <textarea {...common} rows={3} value={text} onChange={(event) => set(event.target.value)} />;
    default:
      return <input {...common} value={text} onChange={(event) => set(event.target.value)} />;
  }
}

/** Several of a vocabulary, as ticks. */
function Many({ field, value, set, wrong }: InputProps) {
  const chosen = Array.isArray(value) ? (value as string[]) : [];
  return (
    <fieldset className={wrong ? 'field wrong' : 'field'}>
      <legend>{field.word}</legend>
      {field.options?.map((o) => (
        <label key={o.value} className="tick">
          <input
            type="checkbox"
            checked={chosen.includes(o.value)}
            onChange={(event) => set(event.target.checked ? [...chosen, o.value] : chosen.filter((v) => v !== o.value))}
          />
          {o.word}
        </label>
      ))}
      {wrong ? <p className="said">{say('form.accepted', { what: wrong.accepted })}</p> : null}
    </fieldset>
  );
}
