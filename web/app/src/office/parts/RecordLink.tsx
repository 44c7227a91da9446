import { useQuery } from '@tanstack/react-query';
import { Link } from 'wouter';
import { answer, api } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useNames } from '../data.ts';
import type { Encounter } from '../records.ts';

/** A record that is known by its id, read once however often it is shown. */
export function useRecord(id: string) {
  return useBody(id) as (Encounter & { encounter?: string; startedAt?: string }) | undefined;
}

/** What any record says, read once however often it is shown. */
export function useBody(id: string): unknown {
  const read = useQuery({
    queryKey: ['subject', id],
    staleTime: 60_000,
    queryFn: () => answer(api.GET('/api/subjects/{id}', { params: { path: { id } } })),
  });
  return read.data?.body;
}

/** A record by when and where it was made; a wash leads to its craft. */
export function RecordLink({ id }: { id: string }) {
  const launch = useNames('launch');
  const body = useRecord(id);
  const at = body?.inspection?.startedAt ?? body?.startedAt;
  return (
    <Link href={`/ledger/${body?.encounter ?? id}`}>
      {at ? moment(at, 'short') : `…${id.slice(-6)}`} {launch(body?.inspection?.launch)}
    </Link>
  );
}
