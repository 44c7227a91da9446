import type { ReactNode } from 'react';
import { moment } from '../clock.ts';
import { useBelonging } from '../data.ts';
import { say } from '../words.ts';
import { Outcome } from './Outcome.tsx';

/** The receipts that a craft was given, below a heading if there is to be one; nothing where it was given none. */
export function Receipts({ of, heading }: { of: string; heading?: ReactNode }) {
  const receipts = useBelonging('receipt', of);
  if (receipts.length === 0) return null;
  return (
    <>
      {heading}
      <ul>
        {receipts.map((r) => (
          <li key={r.subject}>
            {say('boat.receipt', { at: moment(r.body?.issuedAt) })} <Outcome of={r.body?.outcome} />
          </li>
        ))}
      </ul>
    </>
  );
}
