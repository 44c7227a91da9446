import { Link } from 'wouter';
import { moment } from '../clock.ts';
import { useKind, useNames } from '../data.ts';
import { Pick } from '../parts/Pick.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { likes, likeWord } from '../training.ts';
import { say } from '../words.ts';

const names = ['class', 'person'] as const;

/** Planted objects that are over, one by one: what the figures on skill rest on, beside second looks. */
export default function Planted() {
  const [filters, set] = useFilters(names);
  const read = useKind('trial');
  const people = useKind('person');
  const person = useNames('person');
  const rows = (read.data ?? [])
    .map((t) => ({ id: t.id, ...t.body }))
    .filter((t) => t.found && (!filters.class || t.like === filters.class))
    .filter((t) => !filters.person || t.steward === filters.person)
    .sort((a, b) => b.plantedAt.localeCompare(a.plantedAt));
  const found = rows.filter((t) => t.found === 'yes').length;
  return (
    <>
      <p className="crumb">
        <Link href="/practice">{say('nav.practice')}</Link>
      </p>
      <h1>{say('planted.title')}</h1>
      <p className="lead">{say('planted.lead')}</p>
      <form className="filters" onSubmit={(event) => event.preventDefault()}>
        <Pick
          word={say('trials.like')}
          value={filters.class}
          set={(next) => set({ class: next })}
          options={likes.map((l) => [l, likeWord(l)])}
          any={say('ledger.any')}
        />
        <Pick
          word={say('curricula.person')}
          value={filters.person}
          set={(next) => set({ person: next })}
          options={(people.data ?? []).map((p) => [p.id, p.name])}
          any={say('ledger.any')}
        />
      </form>
      {read.error ? <Trouble error={read.error} /> : null}
      {read.isPending ? (
        <Reading />
      ) : (
        <>
          <p className="count" role="status">
            {say('planted.count', { found, n: rows.length })}
          </p>
          <Table
            label={say('planted.title')}
            rows={rows}
            id={(t) => t.id}
            parts={[
              {
                head: say('trials.plantedAt'),
                cell: (t) =>
                  t.encounter ? (
                    <Link href={`/ledger/${t.encounter}`}>{moment(t.plantedAt, 'short')}</Link>
                  ) : (
                    moment(t.plantedAt, 'short')
                  ),
              },
              { head: say('trials.object'), cell: (t) => t.object },
              { head: say('trials.like'), cell: (t) => likeWord(t.like) },
              { head: say('trials.place'), cell: (t) => <code>{t.place}</code> },
              { head: say('curricula.person'), cell: (t) => person(t.steward) },
              {
                head: say('trials.found'),
                cell: (t) => say(t.found === 'yes' ? 'trials.wasFound' : 'trials.wasMissed'),
              },
            ]}
          />
        </>
      )}
    </>
  );
}
