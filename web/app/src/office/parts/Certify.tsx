import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type BodyOf } from '../../shared/api.ts';
import { dayOf } from '../clock.ts';
import { useKind, useMe } from '../data.ts';
import { certificateFields, monthsAfter } from '../training.ts';
import { say } from '../words.ts';
import { RecordForm } from './RecordForm.tsx';
import { Table } from './Table.tsx';

/** How far everybody is with a curriculum, and who is certified for it. */
export function Certify({ id, of }: { id: string; of: BodyOf<'curriculum'> }) {
  const read = useQuery({ queryKey: ['standings'], queryFn: () => answer(api.GET('/api/standings')) });
  const me = useMe();
  const rows = (read.data?.items ?? []).flatMap((s) => {
    const now = s.curricula.find((c) => c.curriculum === id);
    return now ? [{ ...s, now }] : [];
  });
  return (
    <section>
      <h2>{say('curricula.now')}</h2>
      {rows.length === 0 ? (
        <p>{say('curricula.nobody')}</p>
      ) : (
        <Table
          label={say('curricula.now')}
          rows={rows}
          id={(s) => s.person}
          parts={[
            { head: say('curricula.person'), cell: (s) => <Link href={`/people/${s.person}`}>{s.name}</Link> },
            ...of.parts.map((p) => ({
              head: p.name,
              cell: (s: (typeof rows)[number]) => s.now.parts.find((n) => n.name === p.name)?.says,
            })),
            {
              head: say('curricula.certificate'),
              cell: (s) =>
                [
                  s.certificates.find((c) => c.for === of.for)?.says,
                  s.now.complete ? say('curricula.complete') : undefined,
                ]
                  .filter(Boolean)
                  .join(' '),
            },
          ]}
        />
      )}
      {me.data?.role === 'manager' ? <Sign id={id} of={of} /> : null}
    </section>
  );
}

function Sign({ id, of }: { id: string; of: BodyOf<'curriculum'> }) {
  const people = useKind('person');
  const [open, setOpen] = useState(false);
  const [signed, setSigned] = useState<string>();
  const from = `${dayOf(Date.now())}T00:00:00Z`;
  return (
    <section>
      <h3>{say('curricula.certify')}</h3>
      <p>{say('curricula.certifyLead')}</p>
      {open ? (
        <RecordForm
          kind="certificate"
          fields={certificateFields(people.data ?? [], of)}
          start={{ curriculum: id, for: of.for, from, expires: monthsAfter(from, of.months) }}
          done={(saved) => {
            const person = (saved?.body as { person?: string } | undefined)?.person;
            setSigned(people.data?.find((p) => p.id === person)?.name);
            setOpen(false);
          }}
        />
      ) : (
        <p>
          <button type="button" onClick={() => setOpen(true)}>
            {say('curricula.certify')}
          </button>
        </p>
      )}
      {signed ? (
        <p role="status" className="effect">
          {say('curricula.certified', { name: signed })}
        </p>
      ) : null}
    </section>
  );
}
