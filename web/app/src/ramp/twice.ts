/** The names of those fields whose second keying is not the first. */
export function differing(first: readonly { name: string; value: string }[], again: ReadonlyMap<string, string>) {
  return first.filter((f) => (again.get(f.name) ?? '').trim() !== f.value.trim()).map((f) => f.name);
}
