import { useQueries, useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link } from 'wouter';
import { answer, api, type Of, type Schemas } from '../../shared/api.ts';
import { dayOf, moment } from '../clock.ts';
import { useKind, useNames } from '../data.ts';
import { plain } from '../records.ts';
import { standing } from '../waters.ts';
import { say } from '../words.ts';
import { Outcome } from './Outcome.tsx';
import { Reading } from './State.tsx';
import { Wide } from './Wide.tsx';

type Row = Schemas['EncounterRow'];

/** Encounters that an incident touches, each with where it leads, and the receipts that they were given. */
function Rows({ rows, label }: { rows: Row[]; label: string }) {
  const water = useNames('water');
  const launch = useNames('launch');
  const heads = [
    'ledger.when',
    'ledger.launch',
    'ledger.craft',
    'ledger.from',
    'ledger.next',
    'ledger.outcome',
  ] as const;
  return (
    <>
      <Wide label={label}>
        <table>
          <thead>
            <tr>
              {heads.map((h) => (
                <th key={h} scope="col">
                  {say(h)}
                </th>
              ))}
              <th scope="col">{say('boat.mark')}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.subject}>
                <th scope="row">
                  <Link href={`/ledger/${row.subject}`}>{moment(row.at)}</Link>
                </th>
                <td>{launch(row.launch)}</td>
                <td>{plain(row.class)}</td>
                <td>{water(row.lastWater) || say('boat.unknown')}</td>
                <td>{water(row.nextWater) || say('boat.unknown')}</td>
                <td>
                  <Outcome of={row.given} refused={row.refused} />
                </td>
                <td>
                  {row.mark ? (
                    <Link href={`/ledger?mark=${row.mark}`}>
                      {say('incident.sameMark', { hash: row.mark.slice(0, 6) })}
                    </Link>
                  ) : null}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <Receipts rows={rows} />
    </>
  );
}

/** The receipts of some encounters, read when somebody asks for them. */
function Receipts({ rows }: { rows: Row[] }) {
  const [asked, setAsked] = useState(false);
  const launch = useNames('launch');
  const reads = useQueries({
    queries: rows.map((row) => ({
      queryKey: ['belonging', 'receipt', row.subject],
      enabled: asked,
      queryFn: () =>
        answer(api.GET('/api/subjects', { params: { query: { kind: 'receipt', parent: row.subject, limit: 50 } } })),
    })),
  });
  if (rows.length === 0) return null;
  if (!asked) {
    return (
      <p>
        <button type="button" onClick={() => setAsked(true)}>
          {say('incident.listReceipts', { n: rows.length })}
        </button>
      </p>
    );
  }
  if (reads.some((r) => r.isPending)) return <Reading />;
  const given = reads.flatMap((r, i) =>
    (r.data?.items ?? []).map((receipt) => ({ receipt: receipt as Of<'Subject', 'receipt'>, row: rows[i] })),
  );
  return (
    <>
      <h3>{say('incident.affected')}</h3>
      <p>{given.length === 0 ? say('incident.noReceipts') : say('incident.affectedLead')}</p>
      <ul>
        {given.map(({ receipt, row }) => (
          <li key={receipt.subject}>
            <Link href={`/ledger/${row?.subject}`}>{say('boat.receipt', { at: moment(receipt.body?.issuedAt) })}</Link>,{' '}
            {launch(row?.launch)} <Outcome of={receipt.body?.outcome} />
          </li>
        ))}
      </ul>
    </>
  );
}

const shown = 50;

function useRows(name: string, query: { lastWater?: string; nextWater?: string; mark?: string; from?: string }) {
  return useQuery({
    queryKey: ['encounters', name, query],
    queryFn: () => answer(api.GET('/api/encounters', { params: { query: { ...query, limit: shown, sort: '-at' } } })),
  });
}

/** Where else the craft was met: its registration is known by its hash alone. */
export function SameCraft({ mark }: { mark: string | undefined }) {
  return (
    <>
      <h2>{say('incident.sameCraft')}</h2>
      {mark ? <Marked mark={mark} /> : <p>{say('incident.sameCraftNone')}</p>}
    </>
  );
}

function Marked({ mark }: { mark: string }) {
  const rows = useRows('mark', { mark }).data?.items;
  if (!rows) return <Reading />;
  if (rows.length < 2) return <p>{say('incident.sameCraftNone')}</p>;
  return <Rows rows={rows} label={say('incident.sameCraft')} />;
}

/** From when on a water counts: since something was suspected in it, or first declared. */
function useSince(water: string): string | undefined {
  const all = useKind('water').data?.find((w) => w.id === water)?.body;
  return (all ? standing(all) : [])
    .map((s) => s.suspectedSince ?? s.from)
    .sort()
    .at(0);
}

/** Craft that came from a water: whoever traces a find looks at all of them. */
export function From({ water }: { water: string }) {
  const name = useNames('water');
  const from = useSince(water);
  const rows = useRows('from', { lastWater: water, ...(from && { from }) }).data?.items ?? [];
  const title = say('incident.others', { water: name(water) });
  return (
    <>
      <h2>{title}</h2>
      {from ? <p>{say('incident.since', { day: dayOf(from), n: rows.length })}</p> : null}
      <Rows rows={rows} label={title} />
      <p>
        <Link href={`/ledger?lastWater=${water}${from ? `&from=${dayOf(from)}` : ''}`}>{say('incident.all')}</Link>
      </p>
    </>
  );
}

/** Craft that were on their way to a water. */
export function To({ water }: { water: string }) {
  const name = useNames('water');
  const from = useSince(water);
  const rows = useRows('to', { nextWater: water, ...(from && { from }) }).data?.items ?? [];
  const title = say('incident.to', { water: name(water) });
  return (
    <>
      <h2>{title}</h2>
      <Rows rows={rows} label={title} />
      <p>
        <Link href={`/ledger?nextWater=${water}${from ? `&from=${dayOf(from)}` : ''}`}>{say('incident.all')}</Link>
      </p>
    </>
  );
}
