import { useQuery } from '@tanstack/react-query';
import { useState } from 'react';
import { Link, useParams } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { moment } from '../clock.ts';
import { useBelonging, useEncounter, useKind, useMe, useNames } from '../data.ts';
import { encounterFields } from '../kinds.ts';
import { Correct } from '../parts/Correct.tsx';
import { Drawing } from '../parts/Drawing.tsx';
import { Found } from '../parts/Found.tsx';
import { History } from '../parts/History.tsx';
import { Outcome } from '../parts/Outcome.tsx';
import { Photos } from '../parts/Photos.tsx';
import { Receipts } from '../parts/Receipts.tsx';
import { RecordForm } from '../parts/RecordForm.tsx';
import { RecordLink } from '../parts/RecordLink.tsx';
import { Reopen } from '../parts/Reopen.tsx';
import { Missing, Reading, Trouble } from '../parts/State.tsx';
import { Trace } from '../parts/Trace.tsx';
import { Doubles } from '../parts/Twins.tsx';
import { Wide } from '../parts/Wide.tsx';
import { type Encounter, plain, type WashDone } from '../records.ts';
import { say } from '../words.ts';

/** One craft as it was met: what was asked, judged, found, done, and how the record came to read as it does. */
export default function Boat() {
  const { id = '' } = useParams();
  const me = useMe();
  const [correcting, setCorrecting] = useState(false);
  const read = useEncounter(id);
  const launch = useNames('launch');
  const reopenings = useBelonging('reopening', id);
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const detail = read.data;
  const body = detail.encounter.body as Encounter | undefined;
  if (!body) return <Missing />;
  return (
    <>
      <p className="crumb">
        <Link href="/ledger">{say('boat.back')}</Link>
      </p>
      <h1>{say('boat.title', { launch: launch(body.inspection.launch) || say('boat.unknown') })}</h1>
      <p className="lead">{moment(body.inspection.startedAt)}</p>
      {body.inspection.refused ? <p className="trouble">{say('boat.refused')}</p> : null}
      <CountedWith detail={detail} />
      {body.sheet ? <p>{say('boat.sheet', { sheet: body.sheet })}</p> : null}
      {me.data?.role === 'manager' ? <Doubted id={id} /> : null}
      <div className="pair">
        <Asked body={body} />
        <Judged body={body} detail={detail} />
      </div>
      <Drawing id={id} version={detail.encounter.id} body={body} />
      <h2>{say('boat.found')}</h2>
      <Found inspection={body.inspection} />
      <Washes washes={detail.washes ?? []} />
      <Photos id={id} body={body} />
      <Checked body={body} />
      <Belonging id={id} />
      {me.data?.role === 'manager' && !detail.encounter.removed ? (
        <Doubles id={id} at={body.inspection.startedAt} />
      ) : null}
      <History entries={detail.history ?? []} reopenings={reopenings} />
      {detail.looked ? <Reopen subject={detail.encounter} /> : null}
      {me.data?.role === 'manager' ? (
        <p>
          <Link href={`/incidents?encounter=${id}`}>{say('incident.act')}</Link>
        </p>
      ) : null}
      {me.data?.role !== 'manager' ? null : correcting ? (
        <CorrectBoat subject={detail.encounter} done={() => setCorrecting(false)} />
      ) : (
        <p>
          <button type="button" onClick={() => setCorrecting(true)}>
            {say('boat.correct')}
          </button>
        </p>
      )}
    </>
  );
}

/** Where a person has decided that this craft was met more than once: which record counts for it, and under which outcome. */
function CountedWith({ detail }: { detail: Schemas['EncounterDetail'] }) {
  if (!detail.sameAs && !detail.governs) return null;
  return (
    <p className="plate-line">
      {detail.sameAs ? (
        <span>
          {say('boat.sameAs')} <RecordLink id={detail.sameAs} />.
        </span>
      ) : (
        <span>{say('boat.metAgain')}</span>
      )}{' '}
      {detail.governs ? (
        <>
          {say('boat.governs')} <Outcome of={detail.governs} />
        </>
      ) : null}
    </p>
  );
}

/** What makes the record hard to believe, with the way to where that is settled. */
function Doubted({ id }: { id: string }) {
  const read = useQuery({
    queryKey: ['season', 'doubts', id],
    queryFn: () => answer(api.GET('/api/season/doubts', { params: { query: { record: id } } })),
  });
  return (read.data?.items ?? []).map((d) => (
    <p key={d.id} className="trouble">
      {d.label}
      {d.evidence[0] ? `: ${d.evidence[0].words}` : ''}.{' '}
      <Link href={`/settle#doubt-${d.id}`}>{say('boat.toSettle')}</Link>
    </p>
  ));
}

/** Corrects field by field; what the form does not show can be changed in the record as a whole. */
function CorrectBoat({ subject, done }: { subject: Schemas['Subject']; done: () => void }) {
  const waters = useKind('water').data ?? [];
  const launches = useKind('launch').data ?? [];
  const people = useKind('person').data ?? [];
  return (
    <section className="correcting">
      <h2>{say('boat.correct')}</h2>
      <p>{say('boat.correctLead')}</p>
      <RecordForm
        kind="inspection"
        fields={encounterFields(waters, launches, people)}
        subject={subject}
        done={() => done()}
      />
      <details>
        <summary>{say('boat.expert')}</summary>
        <Correct subject={subject} done={done} />
      </details>
    </section>
  );
}

/** What else was written down about the craft: receipts that it was given, incidents that it is part of. */
function Belonging({ id }: { id: string }) {
  const incidents = useBelonging('incident', id);
  return (
    <>
      <Receipts of={id} heading={<h2>{say('boat.receipts')}</h2>} />
      {incidents.length > 0 ? <h2>{say('boat.incidents')}</h2> : null}
      <ul>
        {incidents.map((r) => (
          <li key={r.subject}>
            <Link href={`/incidents/${r.subject}`}>{r.body?.what}</Link>
          </li>
        ))}
      </ul>
    </>
  );
}

function Asked({ body }: { body: Encounter }) {
  const water = useNames('water');
  const person = useNames('person');
  const { inspection: i } = body;
  const unknown = say('boat.unknown');
  const rows: [string, string][] = [
    [say('boat.class'), plain(i.setup?.class) || unknown],
    [say('boat.length'), i.setup?.lengthM ? `${i.setup.lengthM.toFixed(1)} m` : unknown],
    [say('boat.spaces'), i.setup?.spaces?.map((s) => plain(s.kind)).join(', ') || '–'],
    [
      say('boat.last'),
      i.lastWaters?.map((v) => `${water(v.water) || unknown}, ${moment(v.outAt) || unknown}`).join('; ') || unknown,
    ],
    [say('boat.next'), water(i.nextWater ?? i.water) || unknown],
    [say('boat.direction'), plain(i.direction) || unknown],
    [say('boat.plugs'), i.plugsOut || unknown],
    [say('boat.drive'), i.driveLowered || unknown],
    [say('boat.steward'), person(i.steward) || unknown],
    [say('boat.protocol'), body.protocol],
    [say('boat.mark'), body.mark ? say('boat.markKept', { prefix: body.mark.prefix ?? '' }) : unknown],
  ];
  return (
    <section>
      <h2>{say('boat.asked')}</h2>
      <dl className="facts">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      {i.note ? <blockquote>{i.note}</blockquote> : null}
    </section>
  );
}

function Judged({ body, detail }: { body: Encounter; detail: Schemas['EncounterDetail'] }) {
  const { check, given } = detail;
  const person = useNames('person');
  const v = body.verdict;
  return (
    <section>
      <h2>{say('boat.verdict')}</h2>
      <p className="plate-line">
        <Outcome of={given} refused={body.inspection.refused} />{' '}
        {v?.standards?.map((s) => (
          <span key={s.standard} className="standard">
            {s.standard}: <b>{s.met || say('boat.unknown')}</b>
          </span>
        ))}
      </p>
      {body.override ? (
        <p className="trouble">
          {say('boat.override')} {body.override.why} ({person(body.override.by)}
          {body.override.second ? `, ${say('boat.second', { who: person(body.override.second) })}` : ''})
        </p>
      ) : null}
      <ol className="reasons">
        {v?.reasons?.map((r) => (
          <li key={`${r.code}${r.place}${r.text}`}>{r.text}</li>
        ))}
      </ol>
      {v?.places ? <p>{say('boat.places', { settled: v.settled ?? 0, places: v.places })}</p> : null}
      {check ? (
        <p className="when">
          {say('boat.again')} {check.note}
        </p>
      ) : null}
    </section>
  );
}

function Washes({ washes }: { washes: Schemas['Subject'][] }) {
  if (washes.length === 0) return null;
  return (
    <>
      <h2>{say('boat.washes')}</h2>
      {washes.map((row) => {
        const wash = row.body as WashDone;
        const minutes = (Date.parse(wash.endedAt) - Date.parse(wash.startedAt)) / 60_000;
        return (
          <section key={row.subject}>
            <p>
              {say('boat.washed', {
                from: moment(wash.startedAt),
                minutes: Math.round(minutes),
                litres: Math.round(wash.waterL ?? 0),
              })}
            </p>
            <ul className="steps">
              {wash.steps?.map((step) => (
                <li key={JSON.stringify(step.claim)}>
                  <strong>{plain(step.claim.part)}</strong> {plain(step.claim.method)}: <b>{plain(step.outcome)}</b>{' '}
                  {step.why}
                  <Trace step={step} />
                </li>
              ))}
            </ul>
          </section>
        );
      })}
    </>
  );
}

function Checked({ body }: { body: Encounter }) {
  const checks = [...(body.inspection.checks ?? [])];
  const others = body.inspection.others;
  if (others) checks.push({ ...others, place: say('boat.others') });
  if (checks.length === 0) return null;
  const heads = ['where', 'looked', 'felt', 'opened', 'wet', 'seconds', 'reason'] as const;
  return (
    <details>
      <summary>{say('boat.checked')}</summary>
      <Wide label={say('boat.where')}>
        <table>
          <thead>
            <tr>
              {heads.map((h) => (
                <th key={h} scope="col" className={h === 'seconds' ? 'n' : undefined}>
                  {say(`boat.${h}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {checks.map((c) => (
              <tr key={c.place}>
                <th scope="row">{plain(c.place)}</th>
                <td>{c.looked ?? ''}</td>
                <td>{c.felt ?? ''}</td>
                <td>{c.opened ?? ''}</td>
                <td>{c.wet ?? ''}</td>
                <td className="n">{c.seconds ? Math.round(c.seconds) : ''}</td>
                <td>{c.reason ?? ''}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </details>
  );
}
