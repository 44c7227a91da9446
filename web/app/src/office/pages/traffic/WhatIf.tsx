import type { FormEvent } from 'react';
import { Link } from 'wouter';
import { useKind, useOrganisms } from '../../data.ts';
import { byName, Pick } from '../../parts/Pick.tsx';
import { statusWord } from '../../parts/Shore.tsx';
import { Reading, Trouble } from '../../parts/State.tsx';
import { say } from '../../words.ts';
import { useDeclaration, useRisk } from './data.ts';
import { Pairs, Ranking } from './Ranking.tsx';
import { amount, percent, span } from './traffic.ts';

/** What the infestation of one more water would change. Nothing is kept by asking. */
export function WhatIf(props: {
  water: string | undefined;
  organism: string | undefined;
  set: (water: string, organism: string) => void;
}) {
  const waters = useKind('water').data ?? [];
  const risk = useRisk();
  const { name } = useOrganisms();
  const organisms = [
    ...new Set([
      ...(risk.data?.organisms?.map((o) => o.organism) ?? []),
      ...waters.flatMap((w) => w.body.statuses?.map((s) => s.organism) ?? []),
    ]),
  ].sort();
  const ask = (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    props.set(String(form.get('water')), String(form.get('if')));
  };
  return (
    <section aria-labelledby="what-if">
      <h2 id="what-if">{say('sources.if')}</h2>
      <p>{say('sources.ifLead')}</p>
      {waters.length ? (
        <form className="filters" onSubmit={ask}>
          <Pick
            className="long-choice"
            word={say('sources.name')}
            name="water"
            first={props.water ?? ''}
            required
            options={byName(waters)}
            any={say('sources.pick')}
          />
          <Pick
            className="long-choice"
            word={say('sources.organism')}
            name="if"
            first={props.organism ?? organisms[0] ?? ''}
            required
            options={byName(organisms.map((id) => ({ id, name: name(id) })))}
          />
          <button type="submit">{say('sources.ifAct')}</button>
        </form>
      ) : null}
      {props.water && props.organism ? <Answer water={props.water} organism={props.organism} /> : null}
    </section>
  );
}

function Answer({ water, organism }: { water: string; organism: string }) {
  const read = useDeclaration(water, organism);
  const { name } = useOrganisms();
  const risk = useRisk();
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const d = read.data;
  const { from = '', to = '' } = risk.data ?? {};
  return (
    <div className="effect" role="status">
      <p>
        <strong>
          {say('sources.ifText', {
            water: d.water.name,
            organism: name(d.organism),
            was: statusWord(d.was),
            added: amount(d.added.through.mid),
            span: span(d.added.through),
            before: amount(d.before.through.mid),
            share: percent(d.share),
          })}
        </strong>
      </p>
      <Ranking level={3} title={say('sources.to')} sites={d.waters} head={say('sources.name')} path="/waters" />
      <Ranking
        level={3}
        title={say('sources.launches')}
        sites={d.launches}
        head={say('sources.launch')}
        path="/launches"
      />
      <Pairs level={3} pairs={d.pairs} from={from} to={to} />
      <p>
        <Link href={`/waters/${d.water.id}`}>{say('sources.ifLink', { water: d.water.name })}</Link>
      </p>
    </div>
  );
}
