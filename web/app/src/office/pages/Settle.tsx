import { keepPreviousData, useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { answer, api, Problem } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useNames } from '../data.ts';
import { Said } from '../parts/Correct.tsx';
import { Review } from '../parts/Review.tsx';
import { InTurn, Reading, Standing, Trouble } from '../parts/State.tsx';
import { TwinPair } from '../parts/Twins.tsx';
import { say } from '../words.ts';

/** What a person has to decide: records that could not be taken, and pairs that may be one craft. */
export default function Settle() {
  return (
    <>
      <h1>{say('settle.title')}</h1>
      <p className="lead">{say('settle.lead')}</p>
      <InTurn>
        <Refused />
        <Twins />
        <Review />
      </InTurn>
    </>
  );
}

function Refused() {
  const read = useQuery({
    queryKey: ['refusals'],
    queryFn: () => answer(api.GET('/api/refusals', { params: { query: { limit: 200 } } })),
  });
  const person = useNames('person');
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const items = read.data.items ?? [];
  return (
    <section>
      <h2>{say('settle.refused')}</h2>
      {items.length === 0 ? <p>{say('settle.refusedNone')}</p> : null}
      <ul className="cards">
        {items.map((r) => (
          <li key={r.id}>
            <p>
              <b>{moment(r.receivedAt)}</b> {r.person ? `${say('settle.from')} ${person(r.person)}` : ''}
            </p>
            <ul>
              {r.errors?.map((e) => (
                <li key={e.field}>
                  <code>{e.field}</code> {e.value ? `“${e.value}”` : ''}: {e.accepted}
                </li>
              ))}
            </ul>
            <details>
              <summary>{say('boat.body')}</summary>
              <pre>{JSON.stringify(r.raw, null, 1)}</pre>
            </details>
            <SettleOne id={r.id} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function SettleOne({ id }: { id: string }) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const settle = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const how = String(new FormData(event.currentTarget).get('how'));
    const { error, response } = await api.POST('/api/refusals/{id}/settle', {
      params: { path: { id } },
      body: { how },
    });
    if (error) setProblem(new Problem(response.status, error));
    else await cache.invalidateQueries();
  };
  return (
    <form className="inline" onSubmit={settle}>
      {problem ? <Said problem={problem} /> : null}
      <label>
        {say('settle.how')}
        <input name="how" required maxLength={500} />
      </label>
      <button type="submit">{say('settle.act')}</button>
    </form>
  );
}

/** Two months back from the last record: as far as the server looks for pairs at once. */
function useSpan() {
  return useQuery({
    queryKey: ['last-encounter'],
    queryFn: async () => {
      const page = await answer(api.GET('/api/encounters', { params: { query: { limit: 1 } } }));
      const to = new Date(Date.parse(page.items?.[0]?.at ?? new Date().toISOString()) + 1000);
      return { from: new Date(to.getTime() - 61 * 86_400_000).toISOString(), to: to.toISOString() };
    },
  });
}

/** As many pairs as a person looks through at a sitting; more are shown when they are asked for, as far as the server lists them. */
const pairsAtOnce = 20;
const mostPairs = 1000;

function Twins() {
  const [most, setMost] = useState(pairsAtOnce);
  const span = useSpan();
  const read = useQuery({
    queryKey: ['twins', span.data, most],
    enabled: span.data !== undefined,
    placeholderData: keepPreviousData,
    queryFn: () => answer(api.GET('/api/twins', { params: { query: { ...span.data, limit: most } } })),
  });
  const error = span.error ?? read.error;
  if (error) return <Trouble error={error} />;
  if (!read.data) return <Reading />;
  const { items: pairs, count } = read.data;
  const left = Math.min(count, mostPairs) - pairs.length;
  return (
    <section>
      <h2>{say('settle.twins')}</h2>
      <p>{pairs.length === 0 ? say('settle.twinsNone') : say('settle.twinsLead')}</p>
      <ul className="cards">
        {pairs.map((pair) => (
          <TwinPair key={pair.a + pair.b} pair={pair} />
        ))}
      </ul>
      {count > 0 ? (
        <p className="count">
          <Standing anew={read.isPlaceholderData}>{say('settle.shown', { n: pairs.length, all: count })}</Standing>
        </p>
      ) : null}
      {left > 0 ? (
        <button type="button" onClick={() => setMost(pairs.length + pairsAtOnce)}>
          {say('settle.more', { n: Math.min(left, pairsAtOnce) })}
        </button>
      ) : null}
    </section>
  );
}
