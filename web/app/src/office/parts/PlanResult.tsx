import { useState } from 'react';
import { Link } from 'wouter';
import { useOrganisms } from '../data.ts';
import { cellKey, cellsOf, few, type GridRow, gridOf, money, type Plan, percent, whole } from '../plans.ts';
import { say } from '../words.ts';
import { How } from './How.tsx';
import { LaunchRecords, PlanBasis } from './PlanBasis.tsx';
import { cellWords } from './PlanForm.tsx';
import { Table } from './Table.tsx';
import { Wide } from './Wide.tsx';

/** A plan with its reasons and what else was considered; or why there is none. One that was kept has an id. */
export function PlanResult({ plan, kept }: { plan: Plan; kept?: string }) {
  if (!plan.made) return <Collides plan={plan} />;
  return (
    <>
      <p className="board">
        {say(plan.budget ? 'plan.stopsOf' : 'plan.stops', {
          budget: whole(plan.budget?.hours ?? 0),
          share: percent(plan.all > 0 ? plan.value / plan.all : 0),
          value: few(plan.value),
          all: few(plan.all),
          hours: whole(plan.hours),
          cost: money(plan.cost, plan.currency),
        })}{' '}
        <strong>
          {plan.value === 0 && plan.bound > 0
            ? say('plan.bound', { bound: few(plan.bound) })
            : say('plan.better', { share: percent(plan.better) })}
        </strong>
      </p>
      <How>{say('plan.how.sum')}</How>
      <Unspent plan={plan} />
      <Grid plan={plan} />
      {plan.why.length ? (
        <>
          <h3>{say('plan.why')}</h3>
          <ul className="reasons">
            {plan.why.map((w) => (
              <li key={w}>{w}</li>
            ))}
          </ul>
        </>
      ) : null}
      {plan.alternatives.length ? <Beside plan={plan} /> : null}
      <More plan={plan} />
      <p>
        <Link href={kept ? `/plan/frontier?kept=${kept}` : '/plan/frontier'}>{say('plan.toFrontier')}</Link>
      </p>
      <PlanBasis />
      <details>
        <summary>{say('plan.assumed')}</summary>
        <p>{plan.method}</p>
        <p>
          {say('plan.from')} <Link href="/traffic/arrivals">{say('traffic.arrivals')}</Link>,{' '}
          <Link href="/traffic/sources">{say('traffic.sources')}</Link>,{' '}
          <Link href="/traffic/model">{say('traffic.model')}</Link>, <Link href="/practice">{say('nav.practice')}</Link>
          .
        </p>
        <ul>
          {[...(plan.assumed ?? []), ...(plan.warnings ?? [])].map((w) => (
            <li key={w}>{w}</li>
          ))}
        </ul>
      </details>
    </>
  );
}

/** Money that is left over, and what stands in the way of spending it, in the words of whoever computed it. */
function Unspent({ plan }: { plan: Plan }) {
  if (!plan.unspent) return null;
  return (
    <>
      <h3>{say('plan.unspent', { money: money(plan.unspent.money, plan.currency) })}</h3>
      <ul className="reasons">
        {plan.unspent.why?.map((w) => (
          <li key={w}>{w}</li>
        ))}
      </ul>
    </>
  );
}

/** Wishes that cannot all be kept: which, and how far one would have to give way. */
function Collides({ plan }: { plan: Plan }) {
  const clash = plan.clash;
  return (
    <div className="state trouble" role="alert">
      <p>
        <strong>{clash?.words ?? say('plan.clash')}</strong>
      </p>
      <ul>
        {(clash?.give?.length ? clash.give : []).map((g) => (
          <li key={g.wish}>{say('plan.give', { wish: g.wish, by: few(g.by), unit: g.unit })}</li>
        ))}
      </ul>
    </div>
  );
}

const half = 22;

/** A dot for risk met, a ring for risk missed: their areas are the numbers beside them. */
function Mark({ value, most, ring }: { value: number; most: number; ring?: boolean }) {
  const r = most > 0 ? Math.max(1.5, (half - 2) * Math.sqrt(value / most)) : 1.5;
  return (
    <svg className="mark" width={2 * half} height={2 * half} aria-hidden="true" focusable="false">
      <circle className={ring ? 'missed' : 'met'} cx={half} cy={half} r={r} />
    </svg>
  );
}

const shownLeft = 8;

function Grid({ plan }: { plan: Plan }) {
  const [every, setEvery] = useState(false);
  const all = gridOf(plan);
  const staffed = all.filter((r) => r.cells.size > 0).length;
  const rows = every ? all : all.slice(0, staffed + shownLeft);
  const cells = cellsOf(plan.wishes);
  const most = Math.max(...all.map((r) => r.missed), ...plan.shifts.map((s) => s.stops), 0);
  return (
    <>
      <h3>{say('plan.grid')}</h3>
      <ul className="key">
        <li>
          <Mark value={1} most={3} /> {say('plan.met')}
        </li>
        <li>
          <Mark value={1} most={3} ring /> {say('plan.missed')}
        </li>
      </ul>
      <Wide label={say('plan.grid')}>
        <table className="hours">
          <caption>{say('plan.gridLead')}</caption>
          <thead>
            <tr>
              <th scope="col">{say('plan.launch')}</th>
              {cells.map((c) => (
                <th scope="col" key={cellKey(c)}>
                  {cellWords(c)}
                </th>
              ))}
              <th scope="col">{say('plan.nobody')}</th>
              <th scope="col">{say('plan.records')}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <Row key={row.launch} row={row} cells={cells.map(cellKey)} most={most} />
            ))}
          </tbody>
        </table>
      </Wide>
      {all.length > staffed + shownLeft ? (
        <p>
          <button type="button" onClick={() => setEvery(!every)}>
            {say(every ? 'plan.fewer' : 'plan.every', { n: all.length })}
          </button>
        </p>
      ) : null}
      <How links={[['/traffic/arrivals', say('traffic.arrivals')]]}>{say('plan.how.grid')}</How>
      {plan.units.length ? (
        <>
          <h3>{say('plan.unitsAt')}</h3>
          <ul>
            {plan.units.map((u) => (
              <li key={u.launch}>
                <Link href={`/launches/${u.launch}`}>{u.name}</Link> {u.works.join('; ')}
              </li>
            ))}
          </ul>
        </>
      ) : null}
      {plan.organisms.length ? <Organisms plan={plan} /> : null}
    </>
  );
}

function Row({ row, cells, most }: { row: GridRow; cells: string[]; most: number }) {
  return (
    <tr>
      <th scope="row">
        <Link href={`/launches/${row.launch}`}>{row.name}</Link>
      </th>
      {cells.map((key) => {
        const s = row.cells.get(key);
        return (
          <td key={key}>
            {s ? (
              <span className="cell">
                <Mark value={s.stops} most={most} />
                <span>
                  <b>{few(s.stops)}</b>
                  <span className="when">{say('plan.crew', { n: s.people })}</span>
                </span>
              </span>
            ) : (
              <span className="when">–</span>
            )}
          </td>
        );
      })}
      <td>
        {row.cells.size === 0 ? (
          <span className="cell">
            <Mark value={row.missed} most={most} ring />
            <b>{few(row.missed)}</b>
          </span>
        ) : null}
      </td>
      <td>
        <LaunchRecords launch={row.launch} name={row.name} />
      </td>
    </tr>
  );
}

/** What arrives and what is stopped, organism by organism, with the records in which each was found. */
function Organisms({ plan }: { plan: Plan }) {
  const { name } = useOrganisms();
  return (
    <>
      <h3>{say('plan.organisms')}</h3>
      <Table
        label={say('plan.organisms')}
        rows={plan.organisms}
        id={(o) => o.organism}
        parts={[
          { head: say('waters.organism'), cell: (o) => name(o.organism) },
          { head: say('plan.stopped'), n: true, cell: (o) => few(o.stopped) },
          { head: say('plan.arriving'), n: true, cell: (o) => few(o.arriving) },
          {
            head: say('plan.records'),
            cell: (o) => (
              <Link
                href={`/season/records?${new URLSearchParams({ figure: 'found', by: 'organism', key: o.organism })}`}
                aria-label={say('plan.records.organism', { organism: name(o.organism) })}
              >
                {say('plan.records.found')}
              </Link>
            ),
          },
        ]}
      />
      <How
        links={[
          ['/traffic/sources', say('traffic.sources')],
          ['/traffic/model', say('traffic.cardLink')],
        ]}
      >
        {say('plan.how.organisms')}
      </How>
    </>
  );
}

/** The plan beside what people do without computing. */
function Beside({ plan }: { plan: Plan }) {
  const rows = [
    {
      name: say('plan.this'),
      words: '',
      hours: plan.hours,
      value: plan.value,
      share: plan.all > 0 ? plan.value / plan.all : 0,
    },
    ...plan.alternatives,
  ];
  return (
    <>
      <h3>{say('plan.beside')}</h3>
      <Table
        label={say('plan.beside')}
        caption={say('plan.besideLead')}
        className="beside"
        rows={rows}
        id={(a) => a.name}
        parts={[
          {
            head: say('plan.way'),
            cell: (a) => (
              <>
                <b>{a.name}</b>
                <span className="when">{a.words}</span>
              </>
            ),
          },
          { head: say('plan.hoursCol'), n: true, cell: (a) => whole(a.hours) },
          { head: say('plan.stopped'), n: true, cell: (a) => few(a.value) },
          {
            head: say('plan.ofAll'),
            cell: (a) => (
              <span className="share">
                <svg viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true" focusable="false">
                  <rect className="all" width="100" height="12" />
                  <rect className="met" width={Math.min(100, 100 * a.share)} height="12" />
                </svg>
                {percent(a.share)}
              </span>
            ),
          },
        ]}
      />
      <How>{say('plan.how.beside')}</How>
    </>
  );
}

/** What more of something would buy, in the words of whoever computed it. */
export function More({ plan, level = 'h3' }: { plan: Plan; level?: 'h2' | 'h3' }) {
  const Heading = level;
  if (!plan.more.length) return null;
  return (
    <>
      <Heading>{say('plan.more')}</Heading>
      <ul className="reasons">
        {plan.more.map((m) => (
          <li key={m.what}>{m.words}</li>
        ))}
      </ul>
      {plan.more.map((m) =>
        m.rivals?.length ? <Rivals key={m.what} list={m.rivals} currency={plan.currency} /> : null,
      )}
      <How>{say('plan.how.more')}</How>
    </>
  );
}

/** Where one more wash unit could go, with what each place would stop and cost. */
function Rivals(props: { list: NonNullable<Plan['more'][number]['rivals']>; currency: string | undefined }) {
  const { list, currency } = props;
  return (
    <Wide label={say('plan.rivals')}>
      <table className="beside">
        <caption>{say('plan.rivals')}</caption>
        <thead>
          <tr>
            <th scope="col">{say('plan.rivals.place')}</th>
            <th scope="col" className="n">
              {say('plan.rivals.stops')}
            </th>
            <th scope="col" className="n">
              {say('plan.rivals.cost')}
            </th>
            <th scope="col" className="n">
              {say('plan.rivals.whole')}
            </th>
          </tr>
        </thead>
        <tbody>
          {list.map((r) => (
            <tr key={r.launch}>
              <th scope="row">
                <b>
                  <Link href={`/launches/${r.launch}`}>{r.name}</Link>
                </b>
                <span className="when">{say('plan.rivals.hours', { hours: whole(r.hours) })}</span>
              </th>
              <td className="n">
                {few(r.worth.mid)}
                <span className="when">{say('plan.rivals.between', { lo: few(r.worth.lo), hi: few(r.worth.hi) })}</span>
              </td>
              <td className="n">{money(r.cost, currency)}</td>
              <td className="n">{money(r.planCost, currency)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
