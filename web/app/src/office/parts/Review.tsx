import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useEffect, useRef, useState } from 'react';
import { Link } from 'wouter';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useDoubts, useMe, useNames } from '../data.ts';
import { say, type Word } from '../words.ts';
import { Said } from './Correct.tsx';
import { DoubtedCraft } from './ledger.tsx';
import { RecordLink } from './RecordLink.tsx';
import { Reading, Trouble } from './State.tsx';
import { Wide } from './Wide.tsx';

type Doubt = Schemas['Doubt'];
type Row = Schemas['ChangedRow'];

/** Records that the automatic checks point at, check by check: looked through, fixed or kept as they are, many at once. */
export function Review() {
  const [note, setNote] = useState<Schemas['Act']>();
  const [settled, setSettled] = useState<ReadonlySet<string>>(new Set());
  const [acted, setActed] = useState(false);
  const title = usePointedAt<HTMLHeadingElement>();
  const read = useDoubts(acted ? 2000 : undefined); // the season that the server shows may be a little behind
  if (read.error) return <Trouble error={read.error} />;
  const doubts = (read.data ?? []).map((d) => without(d, settled)).filter((d) => d.count > 0);
  const done = (act: Schemas['Act']) => {
    setNote(act);
    setActed(true);
    setSettled(new Set([...settled, ...act.rows.map((r) => r.id)]));
  };
  const undone = (ids: string[]) => {
    setActed(true);
    setSettled(new Set([...settled].filter((id) => !ids.includes(id))));
  };
  return (
    <section>
      <h2 id="doubts" tabIndex={-1} ref={title}>
        {say('review.title')}
      </h2>
      <p>{say('review.lead')}</p>
      {read.isPending ? <Reading /> : null}
      {note ? <Done act={note} undone={undone} /> : null}
      {read.data && doubts.length === 0 ? <p>{say('review.none')}</p> : null}
      {doubts.map((d) => (
        <OneDoubt key={d.id} doubt={d} done={done} />
      ))}
      <Acts undone={undone} />
    </section>
  );
}

/** A doubt without the records that were settled just now. */
function without(doubt: Doubt, settled: ReadonlySet<string>): Doubt {
  const gone = (doubt.records ?? []).filter((id) => settled.has(id)).length;
  const evidence = (doubt.evidence ?? []).filter((clue) => !settled.has(clue.record));
  return { ...doubt, evidence, count: doubt.count - gone };
}

/**
 * Opens what the page's address points at and scrolls there. Browsers do so when the page comes, and then this is still being
 * read, or waits unseen below what is: it is done once, when it is first seen.
 */
function usePointedAt<E extends HTMLElement>() {
  const at = useRef<E>(null);
  useEffect(() => {
    const it = at.current;
    if (!it || location.hash !== `#${it.id}`) return;
    const seen = new ResizeObserver(() => {
      if (it.getClientRects().length === 0) return;
      seen.disconnect();
      if (it instanceof HTMLDetailsElement) it.open = true;
      it.scrollIntoView();
      (it.querySelector('summary') ?? it).focus({ preventScroll: true });
    });
    seen.observe(it);
    return () => seen.disconnect();
  }, []);
  return at;
}

/** One check: what it looks for, the records it points at with the evidence, and what to do with those that are chosen. */
function OneDoubt({ doubt, done }: { doubt: Doubt; done: (act: Schemas['Act']) => void }) {
  const me = useMe();
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [plan, setPlan] = useState<{ rows: Row[]; asIs: boolean }>();
  const [problem, setProblem] = useState<Problem>();
  const clues = doubt.evidence ?? [];
  const records = doubt.field !== undefined; // else the check points at people
  const toggle = (id: string) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    setChosen(next);
    setPlan(undefined);
  };
  const look = async (asIs: boolean) => {
    const changes = [...chosen].map((id) => (asIs ? { id, asIs } : { id, mend: doubt.id }));
    const { data, error, response } = await api.POST('/api/corrections', { body: { why: '', dryRun: true, changes } });
    setProblem(error ? new Problem(response.status, error) : undefined);
    setPlan(data ? { rows: data.rows, asIs } : undefined);
  };
  const manager = me.data?.role === 'manager';
  return (
    <details className="doubt" id={`doubt-${doubt.id}`} ref={usePointedAt<HTMLDetailsElement>()}>
      <summary>
        <b>{doubt.label}</b> <span className="when">{say('review.of', { count: doubt.count, of: doubt.of })}</span>
      </summary>
      <p>{doubt.how}.</p>
      <DoubtedCraft doubt={doubt} />
      {clues.length < doubt.count ? <p className="when">{say('review.first', { n: clues.length })}</p> : null}
      {records && manager ? (
        <label className="tick">
          <input
            type="checkbox"
            checked={chosen.size === clues.length}
            onChange={(event) => {
              setChosen(new Set(event.target.checked ? clues.map((c) => c.record) : []));
              setPlan(undefined);
            }}
          />
          {say('review.all', { n: clues.length })}
        </label>
      ) : null}
      <Clues doubt={doubt} chosen={records && manager ? chosen : undefined} toggle={toggle} />
      {problem ? <Said problem={problem} /> : null}
      {records && manager ? (
        <p>
          {doubt.mends ? (
            <button type="button" disabled={chosen.size === 0} onClick={() => void look(false)}>
              {say('review.preview', { n: chosen.size })}
            </button>
          ) : (
            <span className="when">{say('review.noFix')}</span>
          )}{' '}
          <button type="button" disabled={chosen.size === 0} onClick={() => void look(true)}>
            {say('review.asIs')}
          </button>
        </p>
      ) : null}
      {plan ? (
        <Agree
          doubt={doubt}
          plan={plan}
          done={(act) => {
            setPlan(undefined);
            setChosen(new Set());
            done(act);
          }}
        />
      ) : null}
    </details>
  );
}

function Clues(props: { doubt: Doubt; chosen: ReadonlySet<string> | undefined; toggle: (id: string) => void }) {
  const { doubt, chosen, toggle } = props;
  const person = useNames('person');
  return (
    <Wide label={doubt.label}>
      <table>
        <thead>
          <tr>
            {chosen ? <td /> : null}
            <th scope="col">{say('review.record')}</th>
            <th scope="col">{say('review.why')}</th>
            {doubt.field ? <th scope="col">{say('review.field')}</th> : null}
          </tr>
        </thead>
        <tbody>
          {doubt.evidence?.map((clue) => (
            <tr key={clue.record}>
              {chosen ? (
                <td>
                  <input
                    type="checkbox"
                    aria-label={say('review.choose', { at: clue.words })}
                    checked={chosen.has(clue.record)}
                    onChange={() => toggle(clue.record)}
                  />
                </td>
              ) : null}
              <th scope="row">
                {doubt.field ? (
                  <RecordLink id={clue.record} />
                ) : (
                  <>
                    {person(clue.record)} <Link href={`/ledger?steward=${clue.record}`}>{say('review.person')}</Link>
                  </>
                )}
              </th>
              <td>{clue.words}</td>
              {doubt.field ? <td>{say(`doubted.${doubt.id}` as Word)}</td> : null}
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

/** Every row of what is about to be kept, and the reason that it is kept with. */
function Agree(props: { doubt: Doubt; plan: { rows: Row[]; asIs: boolean }; done: (act: Schemas['Act']) => void }) {
  const { rows, asIs } = props.plan;
  const cache = useQueryClient();
  const [problem, setProblem] = useState<Problem>();
  const keep = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const why = String(new FormData(event.currentTarget).get('why'));
    const changes = rows.map(({ id, head }) => (asIs ? { id, head, asIs } : { id, head, mend: props.doubt.id }));
    const { data, error, response } = await api.POST('/api/corrections', { body: { why, changes } });
    if (!data) {
      setProblem(new Problem(response.status, error));
      return;
    }
    await cache.invalidateQueries();
    props.done(data);
  };
  return (
    <div className="effect">
      <Wide label={say('review.change')}>
        <table>
          <caption>{say('review.change')}</caption>
          <thead>
            <tr>
              <th scope="col">{say('review.record')}</th>
              <th scope="col">{say('review.field')}</th>
              <th scope="col">{say('review.was')}</th>
              <th scope="col">{say('review.wouldBe')}</th>
            </tr>
          </thead>
          <tbody>
            {rows.flatMap((row) =>
              row.fields.length ? (
                row.fields.map((f) => (
                  <tr key={row.id + f.field}>
                    <th scope="row">
                      <RecordLink id={row.id} />
                    </th>
                    <td>
                      <code>{f.field}</code>
                    </td>
                    <td>{f.was}</td>
                    <td>{f.wouldBe}</td>
                  </tr>
                ))
              ) : (
                <tr key={row.id}>
                  <th scope="row">
                    <RecordLink id={row.id} />
                  </th>
                  <td colSpan={3}>{say('review.stays')}</td>
                </tr>
              ),
            )}
          </tbody>
        </table>
      </Wide>
      {problem ? <Said problem={problem} /> : null}
      <form className="inline" onSubmit={keep}>
        <label>
          {say('review.reason')}
          <input name="why" required maxLength={500} />
        </label>
        <button type="submit" className="main">
          {say(asIs ? 'review.confirm' : 'review.do', { n: rows.length })}
        </button>
      </form>
    </div>
  );
}

function Done({ act, undone }: { act: Schemas['Act']; undone: (ids: string[]) => void }) {
  return (
    <div className="effect" role="status">
      <p>
        {say('review.done', { n: act.rows.length })} {act.id ? <Undo key={act.id} id={act.id} undone={undone} /> : null}
      </p>
    </div>
  );
}

function Undo({ id, undone }: { id: string; undone: (ids: string[]) => void }) {
  const cache = useQueryClient();
  const [said, setSaid] = useState('');
  const undo = async () => {
    const { data, error, response } = await api.POST('/api/corrections/{id}/undo', {
      params: { path: { id } },
      body: { why: say('review.undoWhy') },
    });
    setSaid(
      data
        ? say('review.undone', { n: data.undone.length, left: data.left.length })
        : new Problem(response.status, error).message,
    );
    if (data) undone(data.undone);
    await cache.invalidateQueries();
  };
  if (said) return <span role="status">{said}</span>;
  return (
    <button type="button" onClick={() => void undo()}>
      {say('review.undo')}
    </button>
  );
}

/** What was done in one act before, each of which can be undone. */
function Acts({ undone }: { undone: (ids: string[]) => void }) {
  const me = useMe();
  const read = useQuery({
    queryKey: ['acts'],
    enabled: me.data?.role === 'manager',
    queryFn: () => answer(api.GET('/api/corrections')),
  });
  const acts = read.data?.items ?? [];
  if (acts.length === 0) return null;
  return (
    <details>
      <summary>{say('review.acts')}</summary>
      <ul>
        {acts.map((act) => (
          <li key={act.id}>
            {say('review.act', { at: moment(act.at), n: act.records, why: act.why })}{' '}
            <Undo id={act.id} undone={undone} />
          </li>
        ))}
      </ul>
    </details>
  );
}
