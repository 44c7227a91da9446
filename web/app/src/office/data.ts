import { QueryClient, useQuery } from '@tanstack/react-query';
import { answer, api, type BodyOf, type Kind, type Of, Problem, type Schemas } from '../shared/api.ts';
import type { Units } from '../shared/units.ts';
import { plain } from './records.ts';

export type { Kind } from '../shared/api.ts';

export const cache = new QueryClient({
  defaultOptions: {
    queries: {
      staleTime: 30_000,
      retry: (failures, error) => failures < 2 && !(error instanceof Problem && error.status < 500),
      refetchOnWindowFocus: false,
    },
  },
});

/** A thing of the programme with its name, as lists and forms need it. */
export interface Named<K extends Kind = Kind> {
  id: string;
  name: string;
  body: BodyOf<K>;
  row: Schemas['Subject'];
}

/** Reads every thing of one kind: reference records are few, so that all are read once and looked up by id. */
export const kindQuery = <K extends Kind>(kind: K, enabled = true) => ({
  enabled,
  queryKey: ['kind', kind],
  staleTime: 5 * 60_000,
  queryFn: async () => {
    const all: Named<K>[] = [];
    let after: string | undefined;
    do {
      const page = await answer(
        api.GET('/api/subjects', { params: { query: { kind, limit: 1000, ...(after && { after }) } } }),
      );
      for (const row of page.items ?? []) all.push(named<K>(row));
      after = page.next || undefined;
    } while (after);
    return all;
  },
});

export function useKind<K extends Kind>(kind: K, enabled = true) {
  return useQuery(kindQuery(kind, enabled));
}

/** Asked for one kind the server gives that kind. A record that was taken out has no body; nothing is known of it. */
function named<K extends Kind>(row: Schemas['Subject']): Named<K> {
  const body = (row.body ?? {}) as BodyOf<K>;
  const said = body as { name?: string; alias?: string; what?: string };
  return { id: row.subject, name: said.name ?? said.alias ?? said.what ?? row.subject, body, row };
}

/** Names of one kind by id; an id that is not known is shown by its last characters rather than hidden. */
export function useNames(kind: Kind): (id: string | undefined) => string {
  const { data } = useKind(kind);
  const names = new Map(data?.map((thing) => [thing.id, thing.name]));
  return (id) => (id ? (names.get(id) ?? `…${id.slice(-6)}`) : '');
}

/** What the programme says of itself, such as its name, its time zone and whom to call. */
export function useProgramme(enabled = true) {
  const read = useKind('programme', enabled);
  return { ...read, data: read.data?.[0]?.body };
}

/** The units of the programme; metric where it leaves them to each person. */
export function useUnits(): Units {
  return useProgramme().data?.units === 'us' ? 'us' : 'metric';
}

/** Who the server takes the browser for; null when nobody is signed in. */
export function useMe() {
  return useQuery({
    queryKey: ['me'],
    retry: false,
    queryFn: async () => {
      const { data, error, response } = await api.GET('/api/me');
      if (response.status === 401) return null;
      if (!data) throw new Problem(response.status, error);
      return data;
    },
  });
}

/** Records of one kind that belong to another record, such as the receipts of an encounter. */
export function useBelonging<K extends Kind>(kind: K, parent: string | undefined): Of<'Subject', K>[] {
  const read = useQuery({
    queryKey: ['belonging', kind, parent],
    enabled: parent !== undefined,
    queryFn: () =>
      answer(api.GET('/api/subjects', { params: { query: { kind, limit: 200, ...(parent && { parent }) } } })),
  });
  return (read.data?.items ?? []) as Of<'Subject', K>[]; // asked for one kind the server gives that kind
}

/** One craft met, with what it left with and what belongs to it. */
export function useEncounter(id: string) {
  return useQuery({
    queryKey: ['encounter', id],
    queryFn: () => answer(api.GET('/api/encounters/{id}', { params: { path: { id } } })),
  });
}

/** The checks of the latest season's records, with what each doubts; read again every so many milliseconds where that is said. */
export function useDoubts(everyMs?: number) {
  return useQuery({
    queryKey: ['season', 'doubts'],
    queryFn: async () => (await answer(api.GET('/api/season/doubts'))).items,
    refetchInterval: everyMs ?? false,
  });
}

/** The organisms of the library by id, with a way to name any: one that the library does not know keeps its id, as words. */
export function useOrganisms() {
  const { data } = useQuery({
    queryKey: ['organisms'],
    staleTime: Number.POSITIVE_INFINITY,
    queryFn: () => answer(api.GET('/api/organisms')),
  });
  const names = new Map(data?.items?.map((o) => [o.id, o.name]));
  return { all: data?.items ?? [], name: (id: string) => names.get(id) ?? plain(id) };
}

/** Every edition of the rules that is to hand, the programme's own and the library's. */
export function useProtocols(enabled = true) {
  return useQuery({
    enabled,
    queryKey: ['protocols'],
    queryFn: () => answer(api.GET('/api/protocols')),
    staleTime: 5 * 60_000,
  });
}
