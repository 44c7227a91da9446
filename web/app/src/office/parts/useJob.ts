import { useQuery, useQueryClient } from '@tanstack/react-query';
import { useCallback, useState } from 'react';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';

type Job = Schemas['Job'];

const running = (job: Job | undefined) => job?.state === 'queued' || job?.state === 'running';

/**
 * A long computation of one kind. The latest is found again when the page is opened anew; while it runs it is asked for
 * every second. One that was made before is given instead where its id is named. Where a computation is begun in another way
 * than by its kind, `follow` takes the answer.
 */
export function useJob(kind: string, earlier?: string) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const latest = useQuery({
    queryKey: ['job', kind, earlier ?? ''],
    queryFn: async () => {
      if (earlier) return await answer(api.GET('/api/jobs/{id}', { params: { path: { id: earlier } } }));
      const page = await answer(api.GET('/api/jobs', { params: { query: { kind, limit: 1 } } }));
      const first = page.items?.[0];
      return first ? await answer(api.GET('/api/jobs/{id}', { params: { path: { id: first.id } } })) : null;
    },
    refetchInterval: (query) => (running(query.state.data ?? undefined) ? 1000 : false),
  });
  const follow = useCallback(
    async (begun: Promise<{ data?: Job; error?: unknown; response: Response }>) => {
      const { data, error, response } = await begun;
      setProblem(error ? new Problem(response.status, error) : undefined);
      if (data) cache.setQueryData(['job', kind, ''], data);
      await cache.invalidateQueries({ queryKey: ['job', kind] });
      return data !== undefined;
    },
    [kind, cache],
  );
  const start = useCallback(
    (input: unknown) => follow(api.POST('/api/jobs', { body: { kind, input: input as never } })),
    [kind, follow],
  );
  const cancel = useCallback(async () => {
    const id = latest.data?.id;
    if (id) await api.POST('/api/jobs/{id}/cancel', { params: { path: { id } } });
    await cache.invalidateQueries({ queryKey: ['job', kind] });
  }, [latest.data?.id, kind, cache]);
  const job = latest.data ?? undefined;
  return { job, read: latest, running: running(job), start, follow, cancel, problem };
}
