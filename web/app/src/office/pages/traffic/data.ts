import { useQuery } from '@tanstack/react-query';
import { answer, api } from '../../../shared/api.ts';
import { useKind } from '../../data.ts';

// Traffic is computed from the whole season and kept by the server until records change; it is not asked for every half minute.
const staleTime = 5 * 60_000;

export const useFlows = (top: number) =>
  useQuery({
    queryKey: ['traffic', 'flows', top],
    staleTime,
    queryFn: () => answer(api.GET('/api/traffic/flows', { params: { query: { top } } })),
  });

export const useArrivals = () =>
  useQuery({ queryKey: ['traffic', 'arrivals'], staleTime, queryFn: () => answer(api.GET('/api/traffic/arrivals')) });

export const useRisk = () =>
  useQuery({
    queryKey: ['traffic', 'risk'],
    staleTime,
    queryFn: () => answer(api.GET('/api/traffic/risk', { params: { query: { top: 50 } } })),
  });

export const useDeclaration = (water: string | undefined, organism: string | undefined) =>
  useQuery({
    queryKey: ['traffic', 'declaration', water, organism],
    staleTime,
    enabled: Boolean(water && organism),
    queryFn: () =>
      answer(
        api.GET('/api/traffic/declaration', { params: { query: { water: water ?? '', organism: organism ?? '' } } }),
      ),
  });

export const useCard = () =>
  useQuery({ queryKey: ['traffic', 'card'], staleTime, queryFn: () => answer(api.GET('/api/traffic/card')) });

/** Where the records of a pair stand: exact where the water has one launch, else all craft from the water of origin. */
export function useRecords(from: string, to: string) {
  const launches = useKind('launch').data ?? [];
  return (pair: { from: string; to: string }) => {
    const there = launches.filter((l) => l.body.water === pair.to);
    const launch = there.length === 1 ? `&launch=${there[0]?.id}` : '';
    return `/ledger?lastWater=${pair.from}${launch}&from=${from}&to=${to}`;
  };
}
