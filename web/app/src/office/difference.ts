/** One place where two records differ: its path, and what stands there in each; undefined where there is nothing. */
export interface Difference {
  path: string;
  before: unknown;
  after: unknown;
}

/** Lists where two values differ, leaf by leaf. Lists are compared place by place. */
export function differences(before: unknown, after: unknown, path = ''): Difference[] {
  if (Object.is(before, after)) return [];
  const both = [before, after];
  if (both.every((v) => typeof v === 'object' && v !== null && Array.isArray(v) === Array.isArray(before))) {
    const a = before as Record<string, unknown>;
    const b = after as Record<string, unknown>;
    const keys = [...new Set([...Object.keys(a), ...Object.keys(b)])];
    return keys.flatMap((key) => differences(a[key], b[key], path ? `${path}.${key}` : key));
  }
  return [{ path, before, after }];
}
