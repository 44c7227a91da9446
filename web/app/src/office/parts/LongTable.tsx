import { useVirtualizer } from '@tanstack/react-virtual';
import { type KeyboardEvent, type ReactNode, useEffect, useRef } from 'react';
import { useLocation } from 'wouter';
import { say } from '../words.ts';

export interface Column<Row> {
  key: string;
  head: string;
  /** Shares of the width, as of a grid; numbers are set to the right. */
  width: string;
  number?: boolean;
  sort?: string;
  cell: (row: Row) => ReactNode;
}

const rowHeight = 44;

/**
 * A table of any length: only the rows in sight are drawn and more are asked for as the end comes near. Roles say what it
 * is to a screen reader; arrow keys walk through the rows and Enter opens one.
 */
export function LongTable<Row>(props: {
  label: string;
  columns: Column<Row>[];
  rows: Row[];
  total?: number;
  id: (row: Row) => string;
  /** Where a click on a row leads; left out: where its first link does. */
  open?: (row: Row) => string;
  sort: string;
  onSort: (sort: string) => void;
  more?: () => void;
  /** What paper says of the rows that it lacks. */
  printed?: string;
}) {
  const { columns, rows, more } = props;
  const frame = useRef<HTMLDivElement>(null);
  const [, go] = useLocation();
  const view = useVirtualizer({
    count: rows.length,
    getScrollElement: () => frame.current,
    estimateSize: () => rowHeight,
    overscan: 12,
    getItemKey: (i) => {
      const row = rows[i];
      return row ? props.id(row) : i;
    },
  });
  const shown = view.getVirtualItems();
  const last = shown.at(-1)?.index ?? 0;
  useEffect(() => {
    if (more && last >= rows.length - 30) more();
  }, [more, last, rows.length]);

  const onKey = (event: KeyboardEvent<HTMLElement>, index: number) => {
    const step = { ArrowDown: 1, ArrowUp: -1, PageDown: 12, PageUp: -12 }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    const to = Math.max(0, Math.min(rows.length - 1, index + step));
    view.scrollToIndex(to);
    requestAnimationFrame(() => frame.current?.querySelector<HTMLElement>(`[data-index="${to}"] a`)?.focus());
  };

  const grid = columns.map((c) => c.width).join(' ');
  return (
    <>
      <p className="in-print">{props.printed ?? say('print.inSight')}</p>
      {/* biome-ignore lint/a11y/useSemanticElements: rows of a virtual list are placed by hand, which table elements do not allow */}
      <div
        className="long"
        role="table"
        aria-label={props.label}
        aria-rowcount={props.total ?? -1}
        style={{ '--grid': grid } as object}
      >
        {/* biome-ignore lint/a11y/useSemanticElements: as above */}
        {/* biome-ignore lint/a11y/useFocusableInteractive: the button inside is what takes the focus */}
        <div className="long-head" role="row">
          {columns.map((c) => (
            <Head key={c.key} column={c} sort={props.sort} onSort={props.onSort} />
          ))}
        </div>
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reached by the keyboard */}
        {/* biome-ignore lint/a11y/useSemanticElements: as above */}
        <div className="long-body" ref={frame} role="rowgroup" tabIndex={0}>
          <div className="long-all" style={{ height: view.getTotalSize() }} role="presentation">
            {shown.map((item) => {
              const row = rows[item.index] as Row;
              return (
                // biome-ignore lint/a11y/useSemanticElements: as above
                // biome-ignore lint/a11y/useFocusableInteractive: the link inside is what takes the focus
                <div
                  key={item.key}
                  data-index={item.index}
                  className="long-row"
                  role="row"
                  aria-rowindex={item.index + 2}
                  style={{ transform: `translateY(${item.start}px)` }}
                  onKeyDown={(event) => onKey(event, item.index)}
                  onClick={(event) => {
                    if ((event.target as HTMLElement).closest('a')) return;
                    if (props.open) go(props.open(row));
                    else event.currentTarget.querySelector('a')?.click();
                  }}
                >
                  {columns.map((c) => (
                    // biome-ignore lint/a11y/useSemanticElements: as above
                    <div key={c.key} role="cell" className={c.number ? 'n' : undefined}>
                      {c.cell(row)}
                    </div>
                  ))}
                </div>
              );
            })}
          </div>
        </div>
      </div>
    </>
  );
}

function Head<Row>({ column, sort, onSort }: { column: Column<Row>; sort: string; onSort: (sort: string) => void }) {
  const by = column.sort;
  const falls = by !== undefined && sort === `-${by}`;
  const rises = by !== undefined && sort === by;
  return (
    // biome-ignore lint/a11y/useSemanticElements: a heading of a table made of divs
    // biome-ignore lint/a11y/useFocusableInteractive: the button inside is what takes the focus
    <div
      role="columnheader"
      className={column.number ? 'n' : undefined}
      aria-sort={falls ? 'descending' : rises ? 'ascending' : undefined}
    >
      {by === undefined ? (
        column.head
      ) : (
        <button type="button" onClick={() => onSort(falls ? by : `-${by}`)}>
          {column.head}
          <span aria-hidden="true">{falls ? ' ▼' : rises ? ' ▲' : ''}</span>
        </button>
      )}
    </div>
  );
}
