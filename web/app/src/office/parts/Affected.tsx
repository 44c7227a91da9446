import { useInfiniteQuery, useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type Of, type Schemas } from '../../shared/api.ts';
import { dateWords, dayOf, moment } from '../clock.ts';
import { useKind, useNames, useOrganisms } from '../data.ts';
import { plain } from '../records.ts';
import { standing } from '../waters.ts';
import { say } from '../words.ts';
import { Outcome } from './Outcome.tsx';
import { Reading, Standing, Trouble } from './State.tsx';
import { Wide } from './Wide.tsx';

type Row = Schemas['EncounterRow'];

/** Encounters that an incident touches, each with where it leads. */
function Rows({ rows, label }: { rows: Row[]; label: string }) {
  const water = useNames('water');
  const launch = useNames('launch');
  const heads = [
    'ledger.when',
    'ledger.launch',
    'ledger.craft',
    'ledger.from',
    'ledger.next',
    'ledger.outcome',
  ] as const;
  return (
    <Wide label={label}>
      <table className="met">
        <thead>
          <tr>
            {heads.map((h) => (
              <th key={h} scope="col">
                {say(h)}
              </th>
            ))}
            <th scope="col">{say('boat.mark')}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.subject}>
              <th scope="row">
                <Link href={`/ledger/${row.subject}`}>{moment(row.at)}</Link>
              </th>
              <td>{launch(row.launch)}</td>
              <td>{plain(row.class)}</td>
              <td>{water(row.lastWater) || say('boat.unknown')}</td>
              <td>{water(row.nextWater) || say('boat.unknown')}</td>
              <td>
                <Outcome of={row.given} refused={row.refused} />
              </td>
              <td>
                {row.mark ? (
                  <Link href={`/ledger?mark=${row.mark}`}>
                    {say('incident.sameMark', { hash: row.mark.slice(0, 6) })}
                  </Link>
                ) : null}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

/** Which encounters a list is of. */
interface Filter {
  lastWater?: string;
  earlierWater?: string;
  nextWater?: string;
  mark?: string;
  from?: string;
}

const step = 50;

/** How far two moments lie apart. */
const apart = (a: string, b: string) => Math.abs(Date.parse(a) - Date.parse(b));

/** One side of a moment, page by page, the nearest to it first. */
function useSide(filter: Filter, sort: 'at' | '-at', at: string) {
  const bound = sort === 'at' ? { from: at } : { to: at };
  return useInfiniteQuery({
    queryKey: ['encounters', 'near', filter, sort, at],
    initialPageParam: '',
    getNextPageParam: (page: Schemas['PageEncounterRow']) => page.next || undefined,
    queryFn: ({ pageParam }) =>
      answer(
        api.GET('/api/encounters', {
          params: { query: { ...filter, ...bound, sort, limit: step, after: pageParam || undefined } },
        }),
      ),
  });
}

/**
 * The encounters of a filter, those nearest in time to a moment first, and how many there are. Both sides are read as far as
 * is shown, so that none that lies nearer is missing.
 */
function useNearest(filter: Filter, at: string, without: string | undefined) {
  const [shown, setShown] = useState(step);
  const [reading, setReading] = useState(false);
  const sides = [useSide(filter, 'at', at), useSide(filter, '-at', at)];
  const count = useQuery({
    queryKey: ['encounters', 'count', filter],
    queryFn: () => answer(api.GET('/api/encounters/count', { params: { query: filter } })),
  });
  const read = sides.flatMap((side) => side.data?.pages.flatMap((page) => page.items ?? []) ?? []);
  const rows = read
    .filter((row) => row.subject !== without)
    .sort((a, b) => apart(a.at, at) - apart(b.at, at) || a.subject.localeCompare(b.subject));
  const more = async () => {
    setReading(true);
    await Promise.all(sides.map((side) => (side.hasNextPage ? side.fetchNextPage() : undefined)));
    setReading(false);
    setShown(shown + step);
  };
  return {
    rows: rows.slice(0, shown),
    total: (count.data?.encounters ?? 0) - (read.length - rows.length),
    pending: count.isPending || sides.some((side) => side.isPending),
    error: count.error ?? sides[0]?.error ?? sides[1]?.error ?? undefined,
    reading,
    more,
  };
}

/** A list of encounters around a moment, with its total, more of it, the way to all in the ledger, and their receipts. */
function Near(props: {
  filter: Filter;
  at: string;
  label: string;
  without?: string | undefined;
  none: string;
  all: string;
}) {
  const { filter, at, label, without } = props;
  const { rows, total, pending, error, reading, more } = useNearest(filter, at, without);
  if (error) return <Trouble error={error} />;
  if (pending) return <Reading />;
  if (total === 0) return <p>{props.none}</p>;
  return (
    <>
      <p className="count">
        <Standing anew={reading}>{say('incident.shown', { shown: rows.length, n: total, at: moment(at) })}</Standing>
      </p>
      <Rows rows={rows} label={label} />
      <p>
        {rows.length < total ? (
          <button type="button" disabled={reading} onClick={() => void more()}>
            {say('incident.more', { n: Math.min(step, total - rows.length) })}
          </button>
        ) : null}{' '}
        <Link href={props.all}>{say('incident.all')}</Link>
      </p>
      <Receipts filter={filter} at={at} total={total} without={without} />
    </>
  );
}

/** The receipts of every encounter of a filter, in sight or not, read when somebody asks for them. */
function Receipts(props: { filter: Filter; at: string; total: number; without: string | undefined }) {
  const { filter, at, total, without } = props;
  const [asked, setAsked] = useState(false);
  const [shown, setShown] = useState(step);
  const launch = useNames('launch');
  const read = useQuery({
    queryKey: ['encounters', 'receipts', filter],
    enabled: asked,
    queryFn: async () => {
      const all: Schemas['ReceiptRow'][] = [];
      let after: string | undefined;
      do {
        const page = await answer(
          api.GET('/api/encounters/receipts', { params: { query: { ...filter, limit: 1000, sort: 'at', after } } }),
        );
        all.push(...(page.items ?? []));
        after = page.next || undefined;
      } while (after);
      return all;
    },
  });
  if (!asked) {
    return (
      <p>
        <button type="button" onClick={() => setAsked(true)}>
          {say('incident.listReceipts', { n: total })}
        </button>
      </p>
    );
  }
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  // What stands below stays: it was there before the receipts were asked for.
  if (read.isPending) return <p role="status">{say('state.reading')}</p>;
  const given = read.data
    .filter((g) => g.encounter.subject !== without)
    .sort((a, b) => apart(a.encounter.at, at) - apart(b.encounter.at, at));
  return (
    <>
      <h3>{say('incident.affected')}</h3>
      <p>{given.length === 0 ? say('incident.noReceipts') : say('incident.affectedLead', { n: given.length })}</p>
      <ul>
        {given.slice(0, shown).map(({ receipt, encounter }) => {
          const body = (receipt as Of<'Subject', 'receipt'>).body;
          return (
            <li key={receipt.subject}>
              <Link href={`/ledger/${encounter.subject}`}>{say('boat.receipt', { at: moment(body?.issuedAt) })}</Link>,{' '}
              {launch(encounter.launch)} <Outcome of={body?.outcome} />
            </li>
          );
        })}
      </ul>
      {given.length > shown ? (
        <p>
          {say('incident.receiptsShown', { shown, n: given.length })}{' '}
          <button type="button" onClick={() => setShown(shown + step)}>
            {say('incident.more', { n: Math.min(step, given.length - shown) })}
          </button>
        </p>
      ) : null}
    </>
  );
}

/** Where else the craft was met: its registration is known by its hash alone. */
export function SameCraft({ mark, at, not }: { mark: string | undefined; at: string; not: string }) {
  const none = say('incident.sameCraftNone');
  return (
    <>
      <h2>{say('incident.sameCraft')}</h2>
      {mark ? (
        <Near
          filter={{ mark }}
          at={at}
          without={not}
          label={say('incident.sameCraft')}
          none={none}
          all={`/ledger?mark=${mark}`}
        />
      ) : (
        <p>{none}</p>
      )}
    </>
  );
}

/** What makes a water count from a day on: the first that was suspected in it, or declared of it. */
function useSince(water: string) {
  const all = useKind('water').data?.find((w) => w.id === water)?.body;
  return (all ? standing(all) : [])
    .map((s) => ({ at: s.suspectedSince ?? s.from, what: s.organism, suspected: Boolean(s.suspectedSince) }))
    .sort((a, b) => a.at.localeCompare(b.at))
    .at(0);
}

/** Craft that came from a water, or were on their way to it: whoever traces a find looks at all of them. */
function Trace(props: {
  water: string;
  at: string;
  not: string | undefined;
  way: 'lastWater' | 'nextWater';
  before?: boolean | undefined;
}) {
  const { water, at, not, way, before } = props;
  const name = useNames('water');
  const { name: organism } = useOrganisms();
  const known = useKind('water').isPending;
  const since = useSince(water);
  // Where the craft was met before the water was suspected, the days that matter lie before it too.
  const early = since !== undefined && Date.parse(since.at) > Date.parse(at);
  const from = since && !early ? since.at : undefined;
  const title = say(way === 'nextWater' ? 'incident.to' : before ? 'incident.othersBefore' : 'incident.others', {
    water: name(water),
  });
  const wereBefore = say('incident.wereBefore', { water: name(water) });
  const days = from ? `&from=${dayOf(from)}` : '';
  if (known) return <Reading />;
  return (
    <>
      <h2>{title}</h2>
      {before ? <p>{say('incident.beforeSure', { water: name(water) })}</p> : null}
      {since ? (
        <p>
          {say(since.suspected ? 'incident.since' : 'incident.declared', {
            day: dateWords(dayOf(since.at)),
            what: organism(since.what),
            water: name(water),
          })}{' '}
          {say(early ? 'incident.early' : 'incident.onlySince')}
        </p>
      ) : null}
      <Near
        filter={{ [way]: water, ...(from && { from }) }}
        at={at}
        without={not}
        label={title}
        none={say('incident.nobody')}
        all={`/ledger?${way}=${water}${days}`}
      />
      {way === 'lastWater' ? (
        <>
          <h3>{wereBefore}</h3>
          <p>{say('incident.wereBeforeLead', { water: name(water) })}</p>
          <Near
            filter={{ earlierWater: water, ...(from && { from }) }}
            at={at}
            without={not}
            label={wereBefore}
            none={say('incident.nobody')}
            all={`/ledger?earlierWater=${water}${days}`}
          />
        </>
      ) : null}
    </>
  );
}

/**
 * Craft that came from a water, those met nearest in time first, and apart from them those that were there before their last water.
 * before: the craft in question was in this water before its own last one.
 */
export function From({ water, at, not, before }: { water: string; at: string; not?: string; before?: boolean }) {
  return <Trace water={water} at={at} not={not} way="lastWater" before={before} />;
}

/** Craft that were on their way to a water, those met nearest in time first. */
export function To({ water, at }: { water: string; at: string }) {
  return <Trace water={water} at={at} not={undefined} way="nextWater" />;
}
