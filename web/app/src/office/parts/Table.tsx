import type { ReactNode } from 'react';
import { Wide } from './Wide.tsx';

export interface Part<Row> {
  /** What is said above the column; rows are told apart by it. */
  head: string;
  /** A number: set to the right. */
  n?: boolean;
  cell: (row: Row) => ReactNode;
}

/** A table that scrolls sideways where it has to. The first column names its row. */
export function Table<Row>(props: {
  label: string;
  rows: readonly Row[];
  id: (row: Row) => string;
  parts: readonly Part<Row>[];
  caption?: string;
  className?: string;
}) {
  return (
    <Wide label={props.label}>
      <table className={props.className}>
        {props.caption ? <caption>{props.caption}</caption> : null}
        <thead>
          <tr>
            {props.parts.map((p) => (
              <th key={p.head} scope="col" className={p.n ? 'n' : undefined}>
                {p.head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {props.rows.map((row) => (
            <tr key={props.id(row)}>
              {props.parts.map((p, i) =>
                i === 0 ? (
                  <th key={p.head} scope="row" className={p.n ? 'n' : undefined}>
                    {p.cell(row)}
                  </th>
                ) : (
                  <td key={p.head} className={p.n ? 'n' : undefined}>
                    {p.cell(row)}
                  </td>
                ),
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
