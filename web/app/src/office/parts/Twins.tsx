import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { Link } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useEncounter, useNames } from '../data.ts';
import { type Encounter, plain } from '../records.ts';
import { say, type Word } from '../words.ts';
import { Said } from './Correct.tsx';
import { Outcome } from './Outcome.tsx';
import { Reading, Trouble } from './State.tsx';

/** Two records that may be of one craft, what differs marked, and the question which it is. Either answer can be turned round. */
export function TwinPair({ pair }: { pair: Schemas['Twin'] }) {
  return (
    <li>
      <div className="twins">
        <Look id={pair.a} differ={pair.differ ?? []} />
        <Look id={pair.b} differ={pair.differ ?? []} />
      </div>
      <p className="when">
        {say('settle.apart', { minutes: Math.round((pair.apartSeconds ?? 0) / 60) })}. {say('settle.agree')}:{' '}
        {signs(pair.agree)}. {say('settle.differ')}: {signs(pair.differ)}.
      </p>
      {pair.decision ? <p>{say(pair.decision === 'same' ? 'boat.twinSame' : 'boat.twinDifferent')}</p> : null}
      <Decide a={pair.a} b={pair.b} pairing={pair.pairing} decided={pair.decision} />
    </li>
  );
}

/** What two records agree or differ in, as the rows beside each other name it. */
const signs = (of: readonly string[] | null | undefined) =>
  (of ?? []).map((sign) => say(`twin.${sign}` as Word)).join(', ') || say('twin.nothing');

/** Asks whether two records are of one craft, and why. A decision that was made before is corrected, not made twice. */
function Decide(props: {
  a: string;
  b: string;
  pairing: string | undefined;
  decided: string | undefined;
  kept?: () => void;
}) {
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const decide = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const pressed = (event.nativeEvent as SubmitEvent).submitter as HTMLButtonElement | null;
    const why = String(new FormData(event.currentTarget).get('why'));
    const body = { a: props.a, b: props.b, decision: pressed?.value, why } as never;
    const { error, response } = props.pairing
      ? await turn(props.pairing, why, body)
      : await api.POST('/api/subjects', { body: { kind: 'pairing', body } });
    setProblem(error ? new Problem(response.status, error) : undefined);
    if (error) return;
    await cache.invalidateQueries();
    props.kept?.();
  };
  return (
    <>
      {problem ? <Said problem={problem} /> : null}
      <form className="inline" onSubmit={decide}>
        <label>
          {say('settle.why')}
          <input name="why" required maxLength={500} />
        </label>
        <button type="submit" value="same" disabled={props.decided === 'same'}>
          {say('settle.same')}
        </button>
        <button type="submit" value="different" disabled={props.decided === 'different'}>
          {say('settle.different')}
        </button>
      </form>
    </>
  );
}

async function turn(pairing: string, why: string, body: never) {
  const head = await answer(api.GET('/api/subjects/{id}', { params: { path: { id: pairing } } }));
  return api.POST('/api/subjects/{id}/corrections', {
    params: { path: { id: pairing }, header: { 'If-Match': `"${head.id}"` } },
    body: { why, body },
  });
}

/** Records that may be the same craft as one record: those that were decided, and those of the hour round it. */
export function Doubles({ id, at }: { id: string; at: string }) {
  const read = useQuery({
    queryKey: ['twins', id],
    queryFn: () => answer(api.GET('/api/twins', { params: { query: { of: id, decided: true } } })),
  });
  const pairs = read.data?.items ?? [];
  return (
    <section>
      <h2>{say('boat.doubles')}</h2>
      {read.error ? <Trouble error={read.error} /> : null}
      {read.isPending ? <Reading /> : null}
      {read.data && pairs.length === 0 ? <p>{say('boat.twinNone')}</p> : null}
      <ul className="cards">
        {pairs.map((pair) => (
          <TwinPair key={pair.a + pair.b} pair={pair} />
        ))}
      </ul>
      <ByHand id={id} at={at} />
    </section>
  );
}

/** Names the other record by its id or the address of its page, for pairs that nothing but a person has noticed. */
function ByHand({ id, at }: { id: string; at: string }) {
  const [other, setOther] = useState('');
  const [kept, setKept] = useState(false);
  const named = /[0-9a-f]{8}-[0-9a-f-]{27}/.exec(other)?.[0] ?? '';
  const read = useQuery({
    queryKey: ['encounter', named],
    enabled: named !== '' && named !== id,
    retry: false,
    queryFn: () => answer(api.GET('/api/encounters/{id}', { params: { path: { id: named } } })),
  });
  const body = read.data?.encounter.body as Encounter | undefined;
  const first = body && body.inspection.startedAt < at ? named : id;
  return (
    <details>
      <summary>{say('boat.twin')}</summary>
      <label className="filters">
        {say('boat.twinId')}
        <input
          value={other}
          onChange={(event) => {
            setOther(event.target.value);
            setKept(false);
          }}
          spellCheck={false}
        />
      </label>
      <p role="status">{kept ? say('boat.twinKept') : ''}</p>
      {read.error ? <p className="said">{read.error.message}</p> : null}
      {body ? (
        <>
          <Look id={named} differ={[]} />
          <Decide
            a={first}
            b={first === id ? named : id}
            pairing={undefined}
            decided={undefined}
            kept={() => {
              setOther('');
              setKept(true);
            }}
          />
        </>
      ) : null}
    </details>
  );
}

/**
 * One of the two records, with what differs marked by its own line, not by colour. While it is read its lines stand there
 * empty, so that what is below keeps its place.
 */
function Look({ id, differ }: { id: string; differ: string[] }) {
  const launch = useNames('launch');
  const water = useNames('water');
  const person = useNames('person');
  const read = useEncounter(id);
  if (read.error) return <Trouble error={read.error} />;
  const body = read.data?.encounter.body as Encounter | undefined;
  const i = body?.inspection;
  const skewMs = read.data?.encounter.skewMs ?? 0;
  const rows: [string, string, string][] = [
    ['launch', say('ledger.launch'), launch(i?.launch)],
    [
      'mark',
      say('boat.mark'),
      body?.mark ? say('boat.markKept', { prefix: body.mark.prefix ?? '' }) : say('boat.unknown'),
    ],
    ['class', say('boat.class'), plain(i?.setup?.class)],
    ['length', say('boat.length'), i?.setup?.lengthM ? `${i.setup.lengthM.toFixed(1)} m` : say('boat.unknown')],
    ['last_water', say('ledger.from'), water(i?.lastWaters?.[0]?.water) || say('boat.unknown')],
    ['direction', say('boat.direction'), plain(i?.direction)],
    ['steward', say('boat.steward'), person(i?.steward)],
  ];
  return (
    <div className="look">
      <p>
        {i ? (
          <>
            <Link href={`/ledger/${id}`}>{moment(new Date(Date.parse(i.startedAt) - skewMs).toISOString())}</Link>{' '}
            {Math.abs(skewMs) >= 60_000 ? (
              <span className="when">{say('settle.clock', { said: moment(i.startedAt) })}</span>
            ) : null}
          </>
        ) : (
          <span className="soon">{say('state.reading')}</span>
        )}
      </p>
      <dl className="facts">
        {rows.map(([key, name, value]) => (
          <div key={key} className={differ.includes(key) ? 'differs' : undefined}>
            <dt>{name}</dt>
            <dd>{i ? value : ''}</dd>
          </div>
        ))}
      </dl>
      <p>{body ? <Outcome of={read.data?.given} refused={i?.refused} /> : null}</p>
    </div>
  );
}
