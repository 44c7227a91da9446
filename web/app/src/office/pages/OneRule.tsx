import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link, useParams } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { useMe, useProtocols, useUnits } from '../data.ts';
import { amount } from '../editions.ts';
import { Said } from '../parts/Correct.tsx';
import { Differences } from '../parts/Differences.tsx';
import { Effect } from '../parts/Effect.tsx';
import type { Body } from '../parts/Input.tsx';
import { JobLine } from '../parts/JobLine.tsx';
import { ProtocolForm } from '../parts/ProtocolForm.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { useJob } from '../parts/useJob.ts';
import { plain } from '../records.ts';
import { say } from '../words.ts';

type Protocol = Schemas['Protocol'];

function useProtocol(ref: string) {
  return useQuery({
    queryKey: ['protocol', ref],
    enabled: ref !== '',
    queryFn: () => answer(api.GET('/api/protocols/{id}', { params: { path: { id: ref } } })),
  });
}

/** One edition of the rules: what it asks, how it differs from another, what it would have decided last season. */
export default function OneRule() {
  const ref = decodeURIComponent(useParams().ref ?? '');
  const read = useProtocol(ref);
  const me = useMe();
  const [writing, setWriting] = useState(false);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const p = read.data;
  return (
    <>
      <p className="crumb">
        <Link href="/rules">{say('nav.rules')}</Link>
      </p>
      <h1>{p.title}</h1>
      <p className="lead">
        {ref}, {say('rules.text', { date: p.textDate })}
      </p>
      <p>{p.summary}</p>
      <Asks of={p} />
      <Against p={p} self={ref} />
      <Bench protocol={ref} />
      {me.data?.role !== 'manager' ? null : writing ? (
        <ProtocolForm from={p} done={() => setWriting(false)} />
      ) : (
        <p>
          <button type="button" onClick={() => setWriting(true)}>
            {say('rules.new')}
          </button>
        </p>
      )}
    </>
  );
}

/** What the edition asks, in the order of the ladder. */
function Asks({ of }: { of: Protocol }) {
  const units = useUnits();
  const rows: [string, string][] = [
    [say('rules.requires'), of.requires?.map(plain).join(', ') ?? ''],
    [say('rules.lookBack'), of.lookBackDays ? say('rules.days', { n: of.lookBackDays }) : say('rules.forEver')],
    [say('rules.afterRisk'), plain(of.afterRisk)],
    [
      say('rules.wash'),
      [
        of.washTable,
        ...(of.wash ?? []).map((w) =>
          [
            plain(w.part),
            w.tempC ? amount(w.tempC, '°C', units) : '',
            w.contactS ? amount(w.contactS, 's', units) : '',
          ].join(' '),
        ),
      ]
        .filter(Boolean)
        .join('; ') || say('rules.noTable'),
    ],
    [
      say('rules.dry'),
      [...(of.dryTables ?? []), ...(of.dry ?? []).map((d) => plain(d.profile))].join(', ') || say('rules.noTable'),
    ],
    [say('rules.factor'), String(of.safetyFactor)],
    [say('rules.sameWater'), of.sameWaterExempt ? 'yes' : 'no'],
    [say('rules.carryIn'), of.carryInExempt ? 'yes' : 'no'],
    [say('rules.seal'), of.sealTrust?.join(', ') || 'no'],
    [say('rules.sources'), of.sources?.join(', ') ?? ''],
  ];
  return (
    <dl className="facts">
      {rows.map(([name, value]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{value}</dd>
        </div>
      ))}
    </dl>
  );
}

/** Two editions side by side: only where they differ. */
function Against({ p, self }: { p: Protocol; self: string }) {
  const all = useProtocols();
  const [other, setOther] = useState('');
  const read = useProtocol(other);
  return (
    <section>
      <h2>{say('rules.compare')}</h2>
      <label className="filters">
        {say('rules.with')}
        <select value={other} onChange={(event) => setOther(event.target.value)}>
          <option value="">–</option>
          {all.data?.items
            ?.filter((row) => row.ref !== self)
            .map((row) => (
              <option key={row.ref} value={row.ref}>
                {row.title} ({row.ref})
              </option>
            ))}
        </select>
      </label>
      {read.data ? (
        <Differences before={read.data as Body} after={p as Body} names={{ before: other, after: self }} />
      ) : null}
    </section>
  );
}

/** Judges the season again under this edition. */
function Bench({ protocol }: { protocol: string }) {
  const { job, running, start, cancel, problem } = useJob('rejudge');
  const mine = (job?.input as { protocolId?: string } | undefined)?.protocolId === protocol;
  return (
    <section>
      <h2>{say('rules.bench')}</h2>
      <p>{say('rules.benchLead')}</p>
      {problem ? <Said problem={problem} /> : null}
      <p>
        <button type="button" disabled={running} onClick={() => void start({ protocolId: protocol })}>
          {say('rules.benchAct')}
        </button>
      </p>
      {mine ? <JobLine job={job} cancel={() => void cancel()} /> : null}
      {mine && job?.state === 'done' ? <Effect of={job.result as Schemas['Differences']} /> : null}
    </section>
  );
}
