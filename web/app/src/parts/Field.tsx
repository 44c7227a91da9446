import type { ReactNode } from 'react';

/** One thing to type or choose, under its name. */
export function Field({ id, label, children }: { id: string; label: string; children: ReactNode }) {
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      {children}
    </div>
  );
}

export interface Choice {
  readonly id: string;
  readonly name: string;
}

/** A list to choose from. What stands first is no answer yet, or the answer that nobody gave. */
export function Choose({
  id,
  label,
  value,
  none,
  among,
  onPick,
}: {
  id: string;
  label: string;
  value: string;
  none?: string;
  among: readonly Choice[];
  onPick: (id: string) => void;
}) {
  return (
    <Field id={id} label={label}>
      <select id={id} value={value} onChange={(e) => onPick(e.target.value)}>
        {none === undefined ? null : <option value="">{none}</option>}
        {among.map((c) => (
          <option key={c.id} value={c.id}>
            {c.name}
          </option>
        ))}
      </select>
    </Field>
  );
}

/** A line, or with rows a few lines, of the person's own words. */
export function Words({
  id,
  label,
  value,
  most,
  rows,
  onChange,
}: {
  id: string;
  label: string;
  value: string;
  most: number;
  rows?: number;
  onChange: (text: string) => void;
}) {
  const shared = {
    id,
    value,
    maxLength: most,
    onChange: (e: { target: { value: string } }) => onChange(e.target.value),
  };
  return (
    <Field id={id} label={label}>
      {rows ? <textarea rows={rows} {...shared} /> : <input autoComplete="off" {...shared} />}
    </Field>
  );
}
