import { Link } from 'wouter';
import type { Schemas } from '../../shared/api.ts';
import { useProtocols } from '../data.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { say } from '../words.ts';

/** The rule book: the programme's own editions first, then the published protocols of the library. */
export default function Rules() {
  const read = useProtocols();
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const all = read.data.items ?? [];
  return (
    <>
      <h1>{say('nav.rules')}</h1>
      <p className="lead">{say('rules.lead')}</p>
      <h2>{say('rules.own')}</h2>
      <Books of={all.filter((p) => p.subject)} />
      <h2>{say('rules.library')}</h2>
      <p>{say('rules.libraryLead')}</p>
      <Books of={all.filter((p) => !p.subject)} />
    </>
  );
}

function Books({ of }: { of: Schemas['ProtocolRow'][] }) {
  if (of.length === 0) return <p>{say('rules.none')}</p>;
  return (
    <ul className="cards">
      {of.map((p) => (
        <li key={p.ref}>
          <Link href={`/rules/${p.ref}`}>
            <b>{p.title}</b>
          </Link>{' '}
          <span className="when">
            {p.ref}, {say('rules.text', { date: p.textDate })}
          </span>
          <p>{p.summary}</p>
          <p className="when">{say(p.confirmed ? 'rules.confirmed' : 'rules.unconfirmed')}</p>
        </li>
      ))}
    </ul>
  );
}
