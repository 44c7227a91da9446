import { Link } from 'wouter';
import type { Schemas } from '../../../shared/api.ts';
import { useNames } from '../../data.ts';
import { Table } from '../../parts/Table.tsx';
import { say } from '../../words.ts';
import { useRecords } from './data.ts';
import { Range, useFirst } from './parts.tsx';
import { amount, span } from './traffic.ts';

type Site = Schemas['SiteRisk'];

/** Places in order of what gets through, the most first, each with its interval: where intervals overlap, order is a guess. */
export function Ranking(props: {
  title: string;
  head: string;
  sites: Site[] | null;
  path: string;
  records?: (id: string) => string;
  level?: 3;
}) {
  const [sites, more] = useFirst(props.sites);
  const top = Math.max(0, ...sites.map((s) => s.through.hi));
  const Head = props.level === 3 ? 'h3' : 'h2';
  if (sites.length === 0) return null;
  return (
    <>
      <Head>{props.title}</Head>
      <Table
        label={props.title}
        rows={sites}
        id={(s) => s.id}
        parts={[
          {
            head: props.head,
            cell: (s) => (
              <>
                <Link href={`${props.path}/${s.id}`}>{s.name}</Link>
                {props.records ? (
                  <span className="when">
                    <Link href={props.records(s.id)} aria-label={`${s.name}: ${say('traffic.ledger')}`}>
                      {say('traffic.ledger')}
                    </Link>
                  </span>
                ) : null}
              </>
            ),
          },
          { head: say('sources.through'), cell: (s) => <Range of={s.through} top={top} what={s.name} /> },
          {
            head: say('sources.arriving'),
            cell: (s) => (
              <>
                {amount(s.arriving.mid)} <span className="when">({span(s.arriving)})</span>
              </>
            ),
          },
        ]}
      />
      {more}
    </>
  );
}

/** Pairs of waters in order of what gets through. */
export function Pairs(props: { pairs: Schemas['PairRisk'][] | null; from: string; to: string; level?: 3 }) {
  const water = useNames('water');
  const records = useRecords(props.from, props.to);
  const [pairs, more] = useFirst(props.pairs);
  const top = Math.max(0, ...pairs.map((p) => p.through.hi));
  const Head = props.level === 3 ? 'h3' : 'h2';
  if (pairs.length === 0) return null;
  return (
    <>
      <Head>{say('sources.pairs')}</Head>
      <Table
        label={say('sources.pairs')}
        rows={pairs}
        id={(p) => p.from + p.to}
        parts={[
          {
            head: say('flows.from'),
            cell: (p) => (
              <>
                <Link href={`/waters/${p.from}`}>{water(p.from)}</Link>
                <span className="when">
                  <Link href={records(p)} aria-label={say('flows.records', { water: water(p.from) })}>
                    {say('traffic.ledger')}
                  </Link>
                </span>
              </>
            ),
          },
          { head: say('flows.to'), cell: (p) => <Link href={`/waters/${p.to}`}>{water(p.to)}</Link> },
          {
            head: say('sources.through'),
            cell: (p) => <Range of={p.through} top={top} what={`${water(p.from)} – ${water(p.to)}`} />,
          },
          {
            head: say('sources.passages'),
            n: true,
            cell: (p) => <Link href={`/traffic?water=${p.from}`}>{amount(p.passages)}</Link>,
          },
        ]}
      />
      {more}
    </>
  );
}
