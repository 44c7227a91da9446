import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useKind, useMe } from '../data.ts';
import { Form } from '../parts/Form.tsx';
import type { Body } from '../parts/Input.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { plain } from '../records.ts';
import { closeFields, likeWord, plantFields } from '../training.ts';
import { say } from '../words.ts';

/** Planted objects: registered before the craft comes, closed when the object is back, talked over within a day. */
export default function Trials() {
  const me = useMe();
  return (
    <>
      <p className="crumb">
        <Link href="/practice">{say('nav.practice')}</Link>
      </p>
      <h1>{say('trials.title')}</h1>
      <p className="lead">{say('trials.lead')}</p>
      {me.data?.role === 'manager' ? (
        <>
          <Plant />
          <Open />
          <Over />
        </>
      ) : (
        <p>{say('trials.managers')}</p>
      )}
    </>
  );
}

function Plant() {
  const [body, setBody] = useState<Body>({});
  const [registered, setRegistered] = useState<string>();
  const people = useKind('person');
  const craft = useQuery({
    queryKey: ['craft'],
    staleTime: Number.POSITIVE_INFINITY,
    queryFn: () => answer(api.GET('/api/craft')),
  });
  const craftClass = String(body.class ?? '');
  const places = useQuery({
    queryKey: ['places', craftClass],
    enabled: craftClass !== '',
    staleTime: Number.POSITIVE_INFINITY,
    queryFn: () => answer(api.GET('/api/craft/{class}/places', { params: { path: { class: craftClass } } })),
  });
  const change = (next: Body) => {
    const { place: _, ...others } = next;
    setBody(next.class === body.class ? next : others); // another craft has other places
  };
  const send = ({ class: _, ...trial }: Body) =>
    api.POST('/api/trials', {
      body: { object: '', like: '', place: '', steward: '', ...trial } as Schemas['PlantInBody'],
    });
  return (
    <section>
      <h2>{say('trials.plant')}</h2>
      <p className="caution">{say('trials.safety')}</p>
      <Form<Schemas['Subject']>
        key={registered}
        fields={plantFields(craft.data?.items ?? [], places.data?.items ?? [], people.data ?? [])}
        body={body}
        set={change}
        send={send}
        act={say('trials.plant')}
        done={(kept) => {
          setRegistered(`${(kept.body as { object: string }).object} ${kept.subject}`);
          setBody({});
        }}
      />
      {registered ? (
        <p role="status" className="effect">
          {say('trials.done', { object: registered.split(' ')[0] ?? '' })}
        </p>
      ) : null}
    </section>
  );
}

function Open() {
  const read = useQuery({ queryKey: ['open trials'], queryFn: () => answer(api.GET('/api/trials/open')) });
  return (
    <section>
      <h2>{say('trials.open')}</h2>
      {read.isPending ? <Reading /> : null}
      {read.error ? <Trouble error={read.error} /> : null}
      {read.data?.items.length === 0 ? <p>{say('trials.openNone')}</p> : null}
      <ul className="cards">
        {read.data?.items.map((t) => (
          <OneOpen key={t.trial} of={t} />
        ))}
      </ul>
    </section>
  );
}

function OneOpen({ of }: { of: Schemas['Out'] }) {
  const [closing, setClosing] = useState(false);
  const hours = of.hours.toFixed(1);
  return (
    <li>
      <h3>{say('trials.on', { object: of.object, like: likeWord(of.like), place: of.placeName })}</h3>
      <p>{say('trials.for', { name: of.name, at: moment(of.plantedAt) })}</p>
      <p className={of.overdue ? 'said' : undefined}>{say(of.overdue ? 'trials.overdue' : 'trials.out', { hours })}</p>
      {of.match ? (
        <p>
          {say('trials.match')} <Link href={`/ledger/${of.match.encounter}`}>{moment(of.match.at)}</Link>.{' '}
          {of.match.says}
        </p>
      ) : (
        <p>{say('trials.noMatch')}</p>
      )}
      {closing ? (
        <Close of={of} leave={() => setClosing(false)} />
      ) : (
        <p>
          <button
            type="button"
            onClick={() => setClosing(true)}
            aria-label={say('trials.closeOf', { object: of.object })}
          >
            {say('trials.close')}
          </button>
        </p>
      )}
    </li>
  );
}

/** How long after planting an inspection is offered as the one the object was in; a choice, not a rule. */
const OFFERED_MS = 24 * 3_600_000;

function Close({ of, leave }: { of: Schemas['Out']; leave: () => void }) {
  const [body, setBody] = useState<Body>(() => ({ retrievedAt: new Date().toISOString() }));
  const met = useQuery({
    queryKey: ['encounters of a trial', of.trial],
    queryFn: () =>
      answer(
        api.GET('/api/encounters', {
          params: {
            query: {
              steward: of.steward,
              from: of.plantedAt,
              to: new Date(Date.parse(of.plantedAt) + OFFERED_MS).toISOString(),
              sort: 'at',
              withTests: true,
              limit: 50,
            },
          },
        }),
      ),
  });
  const craft = (met.data?.items ?? []).map((row) => ({
    value: row.subject,
    word: say('trials.craft', { at: moment(row.at, 'short'), craft: plain(row.class) }),
  }));
  return (
    <Form<Schemas['Subject']>
      fields={closeFields(craft)}
      body={body}
      set={setBody}
      send={(now) =>
        api.POST('/api/trials/{id}/close', {
          params: { path: { id: of.trial } },
          body: now as unknown as Schemas['CloseTrialInBody'],
        })
      }
      act={say('trials.closeOf', { object: of.object })}
      done={leave}
      leave={leave}
    />
  );
}

function Over() {
  const read = useQuery({ queryKey: ['debriefs'], queryFn: () => answer(api.GET('/api/debriefs')) });
  return (
    <section>
      <h2>{say('trials.over')}</h2>
      <p>
        {say('trials.overLead')} <Link href="/practice/trials/records">{say('planted.title')}</Link>
      </p>
      {read.isPending ? <Reading /> : null}
      {read.error ? <Trouble error={read.error} /> : null}
      {read.data?.items.length === 0 ? <p>{say('trials.overNone')}</p> : null}
      <ul className="cards">
        {read.data?.items.map((d) => (
          <li key={d.trial}>
            <h3>
              {say('trials.on', { object: d.object, like: likeWord(d.like), place: d.placeName })}:{' '}
              {say(d.found === 'yes' ? 'trials.wasFound' : 'trials.wasMissed')}
            </h3>
            <p>
              <Link href={`/people/${d.person}`}>{d.name}</Link>, {moment(d.at)}.{' '}
              {d.encounter ? (
                <Link href={`/ledger/${d.encounter}`}>{say('trials.matched')}</Link>
              ) : (
                say('trials.unmatched')
              )}
            </p>
            <p>{say('trials.dueBy', { at: moment(d.dueBy) })}</p>
          </li>
        ))}
      </ul>
    </section>
  );
}
