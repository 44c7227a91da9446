import { useCallback, useMemo } from 'react';
import { useSearchParams } from 'wouter';

/** Filters of a page, kept in its address so that a view can be kept, shared and gone back to. */
export function useFilters<K extends string>(
  names: readonly K[],
): [Partial<Record<K, string>>, (set: Partial<Record<K, string>>) => void] {
  const [params, setParams] = useSearchParams();
  const text = params.toString();
  const filters = useMemo(() => {
    const given = new URLSearchParams(text);
    const out: Partial<Record<K, string>> = {};
    for (const name of names) {
      const value = given.get(name);
      if (value) out[name] = value;
    }
    return out;
  }, [text, names]);
  const set = useCallback(
    (change: Partial<Record<K, string>>) =>
      setParams(
        (before) => {
          const next = new URLSearchParams(before);
          for (const [name, value] of Object.entries(change) as [K, string | undefined][]) {
            if (value) next.set(name, value);
            else next.delete(name);
          }
          return next;
        },
        { replace: true },
      ),
    [setParams],
  );
  return [filters, set];
}
