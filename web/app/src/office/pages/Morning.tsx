import { useQuery, useQueryClient } from '@tanstack/react-query';
import { useEffect } from 'react';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { Hull } from '../../shared/Hull.tsx';
import { dayOf, instant, moment } from '../clock.ts';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Wide } from '../parts/Wide.tsx';
import { whole } from '../plans.ts';
import { say, type Word } from '../words.ts';

type Day = Schemas['Day'];
type Need = Schemas['Need'];

const names = ['at'] as const;

/** How the day stands, told in one glance: what needs a person, then each launch. */
export default function Morning() {
  const [{ at }, set] = useFilters(names);
  const read = useQuery({
    queryKey: ['morning', at],
    queryFn: () => answer(api.GET('/api/morning', { params: { query: { at: instant(at) } } })),
  });
  useArrivals(at === undefined);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const day = read.data;
  const needs = day.needs ?? [];
  return (
    <>
      <h1>{say('morning.title')}</h1>
      <p className="lead">{say('morning.at', { at: moment(day.at) })}</p>
      {needs.length === 0 ? (
        <p className="calm">
          <Hull state="aside" /> {say('morning.calm')}
        </p>
      ) : (
        <section aria-labelledby="needs">
          <h2 id="needs">{say('morning.needs')}</h2>
          <ul className="needs">
            {grouped(needs).map((group) => (
              <NeedRow key={group[0].what} group={group} />
            ))}
          </ul>
        </section>
      )}
      <h2>{say('morning.launches')}</h2>
      {(day.launches ?? []).length === 0 ? <p>{say('morning.none')}</p> : <Launches day={day} />}
      <details>
        <summary>{say('morning.how')}</summary>
        <p>{say('morning.howText')}</p>
      </details>
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <label>
          {say('morning.other')}
          <input type="datetime-local" value={at ?? ''} onChange={(event) => set({ at: event.target.value })} />
        </label>
        <button type="button" onClick={() => set({ at: '' })}>
          {say('morning.now')}
        </button>
      </form>
    </>
  );
}

/** Reads the day again when records arrive, at most every few seconds. */
function useArrivals(live: boolean) {
  const cache = useQueryClient();
  useEffect(() => {
    if (!live) return;
    const stream = new EventSource('/api/events');
    let timer: ReturnType<typeof setTimeout> | undefined;
    stream.addEventListener('entry', () => {
      timer ??= setTimeout(() => {
        timer = undefined;
        void cache.invalidateQueries({ queryKey: ['morning'] });
      }, 3000);
    });
    return () => {
      stream.close();
      clearTimeout(timer);
    };
  }, [live, cache]);
}

function grouped(needs: Need[]): [Need, ...Need[]][] {
  const groups = new Map<string, [Need, ...Need[]]>();
  for (const need of needs) {
    const group = groups.get(need.what);
    if (group) group.push(need);
    else groups.set(need.what, [need]);
  }
  return [...groups.values()];
}

const shown = 5;

function NeedRow({ group }: { group: [Need, ...Need[]] }) {
  const first = group[0];
  const n = group.reduce((sum, need) => sum + need.count, 0);
  const most = first.what === 'incident' ? group.length : shown; // no open incident is left out
  return (
    <li className={first.what === 'incident' || first.what === 'held' ? 'pressing' : undefined}>
      <b className="n">{whole(n)}</b>
      <div>
        <strong>{say(`need.${first.what}` as Word)}</strong>
        {first.name ? (
          <ul>
            {group.slice(0, most).map((need) => (
              <li key={`${need.subject}${need.since}`}>
                <Link href={target(need)}>{need.name}</Link>{' '}
                <span className="when">{moment(need.until ?? need.since) || say('need.never')}</span>
              </li>
            ))}
            {group.length > most ? <li>…</li> : null}
          </ul>
        ) : (
          <p>
            <Link href={target(first)}>{say('nav.settle')}</Link>
          </p>
        )}
      </div>
    </li>
  );
}

function target(need: Need): string {
  switch (need.what) {
    case 'incident':
      return `/incidents/${need.subject}`;
    case 'held':
      return `/ledger/${need.subject}`;
    case 'silent':
      return '/phones';
    case 'certificate':
      return '/people';
    case 'out':
    case 'gauge':
      return '/kit';
    case 'unfilled':
    case 'open_shift':
      return '/roster';
    case 'doubted':
      return '/settle#doubts';
    case 'conflict':
      return '/ledger?flagged=yes';
    default:
      return '/settle';
  }
}

function Launches({ day }: { day: Day }) {
  const launches = day.launches ?? [];
  const top = Math.max(1, ...launches.flatMap((l) => [l.perHour?.hi ?? 0, l.expected?.hi ?? 0]));
  const date = dayOf(day.at);
  return (
    <Wide label={say('morning.launches')}>
      <table>
        <thead>
          <tr>
            <th scope="col">{say('ledger.launch')}</th>
            <th scope="col" className="n">
              {say('morning.hours')}
            </th>
            <th scope="col" className="n">
              {say('morning.met')}
            </th>
            <th scope="col">{say('morning.rate')}</th>
            <th scope="col" className="n">
              {say('morning.failed')}
            </th>
            <th scope="col" className="n">
              {say('morning.waiting')}
            </th>
            <th scope="col" className="n">
              {say('ledger.refused')}
            </th>
          </tr>
        </thead>
        <tbody>
          {launches.map((l) => (
            <tr key={l.subject}>
              <th scope="row">
                <Link href={`/ledger?launch=${l.subject}&from=${date}&to=${date}`}>{l.name}</Link>
                <span className="when">{l.staffed ? l.people?.join(', ') : say('morning.unstaffed')}</span>
              </th>
              <td className="n">{l.hours.toFixed(1)}</td>
              <td className="n">
                <Link href={behindDay('met', date, l.subject)}>{l.met}</Link>
              </td>
              <td>
                <Rates now={l.perHour} before={l.expected} top={top} />
              </td>
              <td className="n">
                {l.stopped ? <Link href={behindDay('stopped', date, l.subject)}>{l.stopped}</Link> : null}
              </td>
              <td className="n">{l.waiting || ''}</td>
              <td className="n">
                <Refused of={l} page={behindDay('refused', date, l.subject)} />
              </td>
            </tr>
          ))}
        </tbody>
        <tfoot>
          <tr>
            <th scope="row">{say('morning.all')}</th>
            <td className="n">{day.total.hours.toFixed(1)}</td>
            <td className="n">
              <Link href={behindDay('met', date)}>{day.total.met}</Link>
            </td>
            <td />
            <td className="n">
              <Link href={behindDay('stopped', date)}>{day.total.stopped}</Link>
            </td>
            <td className="n">{day.total.waiting}</td>
            <td className="n">
              <Refused of={day.total} page={behindDay('refused', date)} none="0" />
            </td>
          </tr>
        </tfoot>
      </table>
    </Wide>
  );
}

/** The records that a figure of one day was counted from. */
const behindDay = (figure: string, date: string, launch?: string) =>
  `/season/records?${new URLSearchParams({ figure, from: date, to: date, ...(launch && { launch }) })}`;

/** Boaters who declined: those with a record lead to it; those that were only counted have none. */
function Refused({ of, page, none }: { of: Schemas['Sum']; page: string; none?: string }) {
  return (
    <>
      {of.refused ? <Link href={page}>{of.refused}</Link> : none}
      {of.refusedTallied ? <span className="when">{say('morning.tallied', { n: of.refusedTallied })}</span> : null}
    </>
  );
}

type Rate = Schemas['Rate'];

/** Today's rate over the usual one, each with its limits: a dot and its line in ink, the usual one as a band. */
function Rates({ now, before, top }: { now: Rate | undefined; before: Rate | undefined; top: number }) {
  const x = (rate: number) => 4 + (rate / top) * 192;
  const words = [now && rateWords(say('morning.rate'), now), before && rateWords(say('morning.expected'), before)];
  return (
    <span className="rates">
      <svg viewBox="0 0 200 24" width="200" height="24" role="img" aria-label={words.filter(Boolean).join('; ')}>
        {before ? (
          <>
            <rect
              x={x(before.lo)}
              y="5"
              width={Math.max(2, x(before.hi) - x(before.lo))}
              height="14"
              className="band"
            />
            <path d={`M${x(before.value)} 3 V21`} className="mid" />
          </>
        ) : null}
        {now ? (
          <>
            <path d={`M${x(now.lo)} 12 H${x(now.hi)}`} className="line" />
            <circle cx={x(now.value)} cy="12" r="4.5" />
          </>
        ) : null}
      </svg>
      <span className="num">{now ? now.value.toFixed(1) : ''}</span>
    </span>
  );
}

const rateWords = (word: string, r: Rate) => `${word}: ${r.value.toFixed(1)} (${r.lo.toFixed(1)}–${r.hi.toFixed(1)})`;
