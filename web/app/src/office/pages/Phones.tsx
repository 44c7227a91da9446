import { useQuery, useQueryClient } from '@tanstack/react-query';
import { type FormEvent, useState } from 'react';
import { answer, api, Problem, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useKind, useMe, useNames } from '../data.ts';
import { Said } from '../parts/Correct.tsx';
import { Pick } from '../parts/Pick.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { Wide } from '../parts/Wide.tsx';
import { say } from '../words.ts';

type Device = Schemas['Device'];

const dayMS = 86_400_000;

/** The phones of the programme: which are silent, which are out of service, and codes that set up more. */
export default function Phones() {
  const me = useMe();
  const read = useQuery({
    queryKey: ['devices'],
    enabled: me.data?.role === 'manager',
    queryFn: () => answer(api.GET('/api/devices')),
  });
  if (me.data?.role !== 'manager') {
    return (
      <>
        <h1>{say('phones.title')}</h1>
        <p className="lead">{say('phones.managers')}</p>
      </>
    );
  }
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  return (
    <>
      <h1>{say('phones.title')}</h1>
      <p className="lead">{say('phones.lead')}</p>
      <Table devices={read.data.items} />
      <Invite />
      <Waiting />
    </>
  );
}

/** In service before out of service, then the longest silent first. */
function order(a: Device, b: Device): number {
  const out = Number(a.revokedAt !== undefined) - Number(b.revokedAt !== undefined);
  return out || (a.lastSeenAt ?? '').localeCompare(b.lastSeenAt ?? '');
}

function Table({ devices }: { devices: Device[] }) {
  const person = useNames('person');
  if (devices.length === 0) return <p>{say('phones.none')}</p>;
  const heads = ['name', 'person', 'role', 'heard', 'lease', 'state'] as const;
  return (
    <Wide label={say('phones.title')}>
      <table>
        <thead>
          <tr>
            {heads.map((h) => (
              <th key={h} scope="col">
                {say(`phones.${h}`)}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {[...devices].sort(order).map((d) => (
            <tr key={d.id}>
              <th scope="row">{d.name}</th>
              <td>{person(d.person)}</td>
              <td>{say(`role.${d.role}`)}</td>
              <td>{moment(d.lastSeenAt) || say('phones.never')}</td>
              <td>{moment(d.leaseUntil, 'short')}</td>
              <td>{state(d)}</td>
              <td>{d.revokedAt ? null : <Revoke device={d} />}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

function state(d: Device) {
  if (d.revokedAt) return `${say('phones.out')}, ${moment(d.revokedAt, 'short')}`;
  const silent = !d.lastSeenAt || Date.now() - Date.parse(d.lastSeenAt) > dayMS;
  return silent ? <strong>{say('phones.silent')}</strong> : say('phones.inUse');
}

/** Asks once more, in its place, before a phone is cut off. */
function Revoke({ device }: { device: Device }) {
  const cache = useQueryClient();
  const [asked, setAsked] = useState(false);
  const [problem, setProblem] = useState<Problem>();
  const revoke = async () => {
    const { error, response } = await api.POST('/api/devices/{id}/revoke', { params: { path: { id: device.id } } });
    if (error) setProblem(new Problem(response.status, error));
    else await cache.invalidateQueries();
  };
  if (!asked) {
    return (
      <button type="button" aria-label={say('phones.revokeOf', { name: device.name })} onClick={() => setAsked(true)}>
        {say('phones.revoke')}
      </button>
    );
  }
  return (
    <div className="ask" role="alert">
      {problem ? <Said problem={problem} /> : null}
      <p>{say('phones.revokeAsk', { name: device.name })}</p>
      <button type="button" className="main" onClick={() => void revoke()}>
        {say('phones.revokeYes')}
      </button>{' '}
      <button type="button" onClick={() => setAsked(false)}>
        {say('phones.revokeNo')}
      </button>
    </div>
  );
}

const page = () => `${location.origin}/ramp/`;

function Invite() {
  const cache = useQueryClient();
  const people = useKind('person');
  const [made, setMade] = useState<Schemas['InviteOutBody']>();
  const [problem, setProblem] = useState<Problem>();
  const make = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    const hours = Number(form.get('hours'));
    const { data, error, response } = await api.POST('/api/invites', {
      body: {
        person: String(form.get('person')),
        role: String(form.get('role')) as 'steward',
        page: page(),
        ...(hours > 0 && { hours }),
      },
    });
    setProblem(error ? new Problem(response.status, error) : undefined);
    setMade(data);
    await cache.invalidateQueries({ queryKey: ['invites'] });
  };
  return (
    <section>
      <h2>{say('phones.invite')}</h2>
      <p>{say('phones.inviteLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <form className="inline" onSubmit={make}>
        <Pick
          word={say('phones.for')}
          name="person"
          required
          options={(people.data ?? []).filter((p) => !p.body.left).map((p) => [p.id, p.name])}
        />
        <Pick
          word={say('phones.as')}
          name="role"
          options={(['steward', 'technician', 'manager'] as const).map((r) => [r, say(`role.${r}`)])}
        />
        <label>
          {say('phones.hours')} {say('phones.hoursHint')}
          <input name="hours" type="number" min="1" max="720" />
        </label>
        <button type="submit" className="main">
          {say('phones.make')}
        </button>
      </form>
      {made ? <Made invite={made} /> : null}
    </section>
  );
}

function Made({ invite }: { invite: Schemas['InviteOutBody'] }) {
  return (
    <div className="invite" role="status">
      {invite.qr ? (
        <img
          className="on-paper"
          src={`data:image/svg+xml,${encodeURIComponent(invite.qr)}`}
          alt={say('phones.qr', { page: page() })}
          width="240"
          height="240"
        />
      ) : null}
      <div>
        <p>
          {say('phones.code')} <code className="code">{invite.code}</code>
        </p>
        <p>{say('phones.scan', { page: page() })}</p>
        <p className="when">{say('phones.until', { at: moment(invite.invite.expiresAt) })}</p>
      </div>
    </div>
  );
}

function Waiting() {
  const person = useNames('person');
  const read = useQuery({ queryKey: ['invites'], queryFn: () => answer(api.GET('/api/invites')) });
  const open = (read.data?.items ?? []).filter((i) => !i.usedAt);
  return (
    <section>
      <h2>{say('phones.invites')}</h2>
      {open.length === 0 ? (
        <p>{say('phones.invitesNone')}</p>
      ) : (
        <ul>
          {open.map((i) => (
            <li key={i.id}>
              {person(i.person)}, {say(`role.${i.role}`)}. {say('phones.made')} {moment(i.createdAt, 'short')}.{' '}
              {Date.parse(i.expiresAt) < Date.now()
                ? say('phones.dead')
                : say('phones.until', { at: moment(i.expiresAt, 'short') })}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
