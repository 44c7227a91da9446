import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { answer, api } from '../../shared/api.ts';
import { type Named, useDoubts, useKind, useMe } from '../data.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';
import { type Option, Pick, PickDay } from './Pick.tsx';

/** What the ledger can be filtered and sorted by, as it stands in the page's address. */
export const names = [
  'from',
  'to',
  'launch',
  'lastWater',
  'earlierWater',
  'nextWater',
  'steward',
  'outcome',
  'class',
  'refused',
  'found',
  'doubt',
  'mark',
  'flagged',
  'withTests',
  'sort',
] as const;

export type Filters = Partial<Record<(typeof names)[number], string>>;

/** Classes of craft that were met, as the sums have them. */
function useClasses() {
  return useQuery({
    queryKey: ['totals', 'class'],
    staleTime: 5 * 60_000,
    queryFn: async () => {
      const sums = await answer(api.GET('/api/totals', { params: { query: { by: 'class' } } }));
      return sums.items.map((row) => row.key).filter(Boolean);
    },
  });
}

const optionsOf = (things: Named[] | undefined) => (things ?? []).map((t) => [t.id, t.name] as const);

/** Below this width, in rem, the filters would fill the screen before the first row is seen. */
const narrowRem = 48;

/**
 * The filters of the ledger. Each is kept in the address at once; there is nothing to send off. On a narrow screen they are
 * folded until they are asked for; how many are set is said either way.
 */
export function LedgerFilters({ filters, set }: { filters: Filters; set: (change: Filters) => void }) {
  const me = useMe();
  const [open, setOpen] = useState(() => !matchMedia(`(max-width: ${narrowRem}rem)`).matches);
  const count = names.filter((name) => name !== 'sort' && filters[name]).length;
  const launches = optionsOf(useKind('launch').data);
  const waters = optionsOf(useKind('water').data);
  const people = optionsOf(useKind('person').data);
  const classes = useClasses().data?.map((c) => [c, plain(c)] as const) ?? [];
  const outcomes = (['launch', 'fix_here', 'wash', 'dry', 'hold'] as const).map(
    (o) => [o, say(`outcome.${o}`)] as const,
  );
  const doubts: Option[] = [
    ['any', say('ledger.doubtAny')],
    ...(useDoubts().data ?? [])
      .filter((d) => d.inspections > 0 || d.id === filters.doubt)
      .map((d) => [d.id, d.label] as const),
  ];
  const answers = (['yes', 'no'] as const).map((a) => [a, say(`word.${a}`)] as const);
  const choice = (name: keyof Filters, word: string, options: Option[]) => (
    <Pick
      word={word}
      value={filters[name]}
      set={(value) => set({ [name]: value })}
      options={options}
      any={say('ledger.any')}
    />
  );
  const tick = (name: keyof Filters, word: string) => (
    <label className="tick">
      <input
        type="checkbox"
        checked={filters[name] === 'yes'}
        onChange={(event) => set({ [name]: event.target.checked ? 'yes' : '' })}
      />
      {word}
    </label>
  );
  return (
    <details className="fold" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{say('ledger.filters', { n: count })}</summary>
      <form className="filters many" aria-label={say('ledger.title')} onSubmit={(event) => event.preventDefault()}>
        <PickDay word={say('ledger.since')} value={filters.from} set={(from) => set({ from })} />
        <PickDay word={say('ledger.until')} value={filters.to} set={(to) => set({ to })} />
        {choice('launch', say('ledger.launch'), launches)}
        {choice('lastWater', say('ledger.from'), waters)}
        {choice('earlierWater', say('ledger.earlier'), waters)}
        {choice('nextWater', say('ledger.next'), waters)}
        {choice('class', say('ledger.craft'), classes)}
        {choice('outcome', say('ledger.outcome'), outcomes)}
        {choice('steward', say('ledger.steward'), people)}
        {choice('refused', say('ledger.refused'), answers)}
        {choice('found', say('ledger.found'), answers)}
        {choice('doubt', say('ledger.doubt'), doubts)}
        {filters.mark ? (
          <label className="tick">
            <input type="checkbox" checked onChange={() => set({ mark: '' })} />
            {say('ledger.mark', { hash: filters.mark.slice(0, 6) })}
          </label>
        ) : null}
        {tick('flagged', say('ledger.flagged'))}
        {me.data?.role === 'manager' ? tick('withTests', say('ledger.tests')) : null}
        <button type="button" onClick={() => set(Object.fromEntries(names.map((n) => [n, ''])))}>
          {say('ledger.clear')}
        </button>
      </form>
    </details>
  );
}
