import { Link } from 'wouter';
import type { Schemas } from '../../shared/api.ts';
import { behindPage, limits, value } from '../figures.ts';
import { say } from '../words.ts';
import { Table } from './Table.tsx';

type Figure = Schemas['Figure'];

/** Figures of a season: each with its limits, what it is a share of, how it is computed, and the way to its records. */
export function Figures({ label, of }: { label: string; of: readonly Figure[] }) {
  return (
    <Table
      label={label}
      rows={of}
      id={(f) => f.id}
      parts={[
        { head: say('season.figure'), cell: (f) => f.label },
        { head: say('season.value'), n: true, cell: (f) => <Value of={f} what={f.label} /> },
        { head: say('season.limits'), n: true, cell: limits },
        { head: say('season.of'), cell: (f) => f.of },
        {
          head: say('season.how'),
          cell: (f) => (
            <details>
              <summary>{say('season.how')}</summary>
              <p>{f.how}</p>
            </details>
          ),
        },
      ]}
    />
  );
}

/** A value that leads to the records behind it, where there are any. */
export function Value({ of, what }: { of: Figure; what: string }) {
  const page = of.known ? behindPage(of) : undefined;
  return page ? (
    <Link href={page} aria-label={say('behind.of', { value: value(of), what })}>
      {value(of)}
    </Link>
  ) : (
    value(of)
  );
}
