import { useState } from 'react';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Field } from '../parts/Field.tsx';
import { Icon } from '../parts/Icon.tsx';
import { Shore } from '../parts/Shore.tsx';
import { Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { day } from '../shared/units.ts';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { call, isoLocal, useAnswer, useRamp } from './state.tsx';

/** What to ask the boater: one question to a screen, "not sure" always among the answers. */
export function Ask({ boat }: { boat: Boat }) {
  if (boat.asking === 'out') return <WhenOut boat={boat} />;
  if (boat.asking === 'stay') return <HowStored boat={boat} />;
  return <LastWater boat={boat} />;
}

/** So many waters stand ready to tap before anything is typed. */
const NEAR = 5;

function LastWater({ boat }: { boat: Boat }) {
  const say = useSay();
  const { act, books, launch, dones } = useRamp();
  const [typing, setTyping] = useState(false);
  const [query, setQuery] = useState('');
  const near = launch?.body.at;
  const hits = useAnswer(
    () => call('waters.find', { query, limit: query ? 8 : 40, ...(near ? { near } : {}) }),
    [query, near?.[0], near?.[1], books.waters.length],
    true,
  ).value?.waters;
  // The water of this launch first, then what boats came from lately, then the nearest.
  const lately = dones
    .flatMap((d) => d.boat.acts.flatMap((a) => (a.do === 'water' && a.water ? [a.water] : [])))
    .reverse();
  const first = [...new Set([launch?.body.water, ...lately])].filter(Boolean).slice(0, 3);
  const list = query
    ? (hits ?? [])
    : [
        ...first.flatMap((id) => hits?.find((h) => h.id === id) ?? []),
        ...(hits ?? []).filter((h) => !first.includes(h.id)),
      ].slice(0, typing ? 8 : NEAR);
  const pick = (water: string) => act(boat.id, { do: 'water', water });
  return (
    <Frame
      undo={boat.id}
      at="water"
      acts={
        <Tiles>
          <Tile icon="list" onClick={() => setTyping(true)}>
            {say('ask.otherWater')}
          </Tile>
          <Tile onClick={() => pick('')}>{say('ask.notSure')}</Tile>
        </Tiles>
      }
    >
      <h1>{say(boat.visits.length ? 'ask.water.before' : 'ask.water')}</h1>
      {typing ? (
        <Field id="water" label={say('ask.typeWater')}>
          {/* biome-ignore lint/a11y/noAutofocus: the tap before said that a name will be typed */}
          <input id="water" autoFocus autoComplete="off" value={query} onChange={(e) => setQuery(e.target.value)} />
        </Field>
      ) : null}
      <Tiles across={1} label={say('ask.waters')}>
        {list.map((w) => {
          const body = books.waters.find((x) => x.subject === w.id)?.body;
          const here = w.id === launch?.body.water;
          const far = w.apartKm === undefined ? '' : say('ask.km', { km: w.apartKm });
          return (
            <Tile
              key={w.id}
              onClick={() => pick(w.id)}
              sub={[
                here ? say('ask.thisWater') : far,
                w.matched ? say('ask.also', { name: w.matched }) : '',
                body?.outside ? say('ask.outside') : '',
              ]
                .filter(Boolean)
                .join(' · ')}
            >
              <span className="water-name">
                {body ? <Shore body={body} /> : <Icon name="water" />}
                {w.name}
              </span>
            </Tile>
          );
        })}
      </Tiles>
      {typing && query && list.length === 0 ? <p role="status">{say('ask.noWater', { query })}</p> : null}
    </Frame>
  );
}

/** The last moment of the day so many days ago: of all hours of that day the one that leaves the least time to dry. */
function endOfDay(now: Date, daysAgo: number): Date {
  const d = new Date(now);
  d.setDate(d.getDate() - daysAgo);
  d.setHours(23, 59, 59, 0);
  return d;
}

function WhenOut({ boat }: { boat: Boat }) {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const { act, books } = useRamp();
  const now = new Date(boat.startedAt);
  const water = books.waters.find((w) => w.subject === boat.visits.at(-1)?.water)?.body.name ?? '';
  const pick = (outAt: Date | null) => act(boat.id, { do: 'out', outAt: outAt && isoLocal(outAt) });
  const [date, setDate] = useState('');
  return (
    <Frame
      undo={boat.id}
      at="out"
      acts={
        <>
          <Tiles>
            <Tile onClick={() => pick(endOfDay(now, 1))} sub={day(locale, endOfDay(now, 1))}>
              {say('ask.yesterday')}
            </Tile>
            <Tile onClick={() => pick(now)} sub={say('ask.todaySub')}>
              {say('ask.today')}
            </Tile>
          </Tiles>
          <Tile onClick={() => pick(null)}>{say('ask.notSure')}</Tile>
        </>
      }
    >
      <h1>{say('ask.out', { water })}</h1>
      <Tiles>
        {[2, 3, 4, 5, 6].map((n) => (
          <Tile key={n} onClick={() => pick(endOfDay(now, n))} sub={day(locale, endOfDay(now, n))}>
            {say('ask.days', { n })}
          </Tile>
        ))}
        {[
          { n: 7, key: 'ask.week' as const },
          { n: 14, key: 'ask.twoWeeks' as const },
          { n: 31, key: 'ask.month' as const },
          { n: 180, key: 'ask.season' as const },
        ].map(({ n, key }) => (
          <Tile key={n} onClick={() => pick(endOfDay(now, n))}>
            {say(key)}
          </Tile>
        ))}
      </Tiles>
      <Field id="outdate" label={say('ask.date')}>
        <input
          id="outdate"
          type="date"
          max={now.toISOString().slice(0, 10)}
          value={date}
          onChange={(e) => {
            setDate(e.target.value);
            const at = new Date(`${e.target.value}T23:59:59`);
            if (!Number.isNaN(at.getTime()) && at.getFullYear() > 2000) pick(at > now ? now : at);
          }}
        />
      </Field>
    </Frame>
  );
}

function HowStored({ boat }: { boat: Boat }) {
  const say = useSay();
  const { act } = useRamp();
  const pick = (stay: '' | 'day_use' | 'moored') => act(boat.id, { do: 'stay', stay });
  return (
    <Frame
      undo={boat.id}
      at="stay"
      acts={
        <>
          <Tiles>
            <Tile icon="lock" onClick={() => pick('moored')} sub={say('ask.mooredSub')}>
              {say('ask.moored')}
            </Tile>
            <Tile icon="sun" onClick={() => pick('day_use')} sub={say('ask.daySub')}>
              {say('ask.day')}
            </Tile>
          </Tiles>
          <Tile onClick={() => pick('')}>{say('ask.notSure')}</Tile>
        </>
      }
    >
      <h1>{say('ask.stay')}</h1>
      <p>{say('ask.stayWhy')}</p>
      <Link
        icon="water"
        onClick={async () => {
          if (await pick('day_use')) await act(boat.id, { do: 'another' });
        }}
      >
        {say('ask.another')}
      </Link>
    </Frame>
  );
}
