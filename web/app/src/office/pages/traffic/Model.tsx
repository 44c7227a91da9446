import { Link } from 'wouter';
import type { Schemas } from '../../../shared/api.ts';
import { Reading, Trouble } from '../../parts/State.tsx';
import { Table } from '../../parts/Table.tsx';
import { say, type Word } from '../../words.ts';
import { Bootstrap } from './Bootstrap.tsx';
import { useCard } from './data.ts';
import { Fit } from './Fit.tsx';
import { How, Range, SubPages, Warnings } from './parts.tsx';
import { amount } from './traffic.ts';

type Card = Schemas['ModelCard'];

/** What was fitted, on what, how well, and what it cannot say. */
export default function Model() {
  const read = useCard();
  return (
    <>
      <SubPages />
      <h1>{say('model.title')}</h1>
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {read.data ? <TheCard of={read.data} /> : read.error ? null : <Reading />}
    </>
  );
}

function TheCard({ of }: { of: Card }) {
  return (
    <>
      <p className="lead">{say('model.lead', { from: of.from, to: of.to, cursor: of.cursor })}</p>
      <Warnings of={of.warnings} />
      <h2>{say('model.equation')}</h2>
      <p className="inline-facts">{of.model}</p>
      <p>{say('model.roads', { roads: of.roads })}</p>
      <Used of={of} />
      <Coefficients of={of} />
      <Weather of={of.weather} />
      <Forms of={of} />
      {of.heldOut ? <Held of={of.heldOut} /> : null}
      {of.fit ? <Fit of={of.fit} /> : null}
      <Bootstrap />
      <h2>{say('model.cannot')}</h2>
      <ul className="inline-facts">
        {of.cannotSay?.map((c) => (
          <li key={c}>{c}</li>
        ))}
      </ul>
    </>
  );
}

const uses = [
  'encounters',
  'leftOut',
  'arriving',
  'noHours',
  'fromKnown',
  'back',
  'tallied',
  'shifts',
  'openShifts',
  'hoursStaffed',
  'launches',
  'launchesStaffed',
  'waters',
  'watersOutside',
  'watersStaffed',
  'days',
] as const;

function Used({ of }: { of: Card }) {
  return (
    <>
      <h2>{say('model.used')}</h2>
      <p>
        {say('model.usedText', { craft: of.craft, positive: of.positive, pairs: of.pairs })}{' '}
        <Link href={`/ledger?from=${of.from}&to=${of.to}`}>{say('nav.ledger')}</Link>
      </p>
      <dl className="facts inline-facts">
        {uses.map((u) => (
          <div key={u}>
            <dt>{say(`model.use.${u}` as Word)}</dt>
            <dd>{of.use[u].toLocaleString('en', { maximumFractionDigits: 1 })}</dd>
          </div>
        ))}
      </dl>
    </>
  );
}

function Coefficients({ of }: { of: Card }) {
  const list = of.coefficients ?? [];
  const reach = Math.max(1e-9, ...list.flatMap((c) => [Math.abs(c.lo), Math.abs(c.hi)]));
  const x = (v: number) => 80 + (v / reach) * 76;
  return (
    <>
      <h2>{say('model.coefficients')}</h2>
      <Table
        className="worded"
        label={say('model.coefficients')}
        rows={list}
        id={(c) => c.name}
        parts={[
          {
            head: say('model.coefficient'),
            cell: (c) => (
              <>
                <b>{c.name}</b>
                <span className="when">{c.words}</span>
              </>
            ),
          },
          { head: say('model.estimate'), n: true, cell: (c) => c.estimate.toFixed(3) },
          {
            head: say('traffic.spanHead'),
            cell: (c) => (
              <span className="range">
                <span />
                <svg viewBox="0 0 160 16" width="160" height="16" aria-hidden="true">
                  <path d="M80 0V16" className="base" />
                  <path d={`M${x(c.lo)} 8H${x(c.hi)}M${x(c.lo)} 4V12M${x(c.hi)} 4V12`} className="reach" />
                  <circle cx={x(c.estimate)} cy="8" r="4" />
                </svg>
                <span className="when">{say('traffic.span', { lo: c.lo.toFixed(3), hi: c.hi.toFixed(3) })}</span>
              </span>
            ),
          },
          { head: say('model.se'), n: true, cell: (c) => c.se.toFixed(3) },
        ]}
      />
      <p>{of.theta === undefined ? say('model.noTheta') : say('model.theta', { theta: amount(of.theta) })}</p>
      <How>{say('model.howCoef')}</How>
    </>
  );
}

/** What the weather of a day does to arrivals, or why it is no term. */
function Weather({ of }: { of: Card['weather'] }) {
  const terms = of.terms ?? [];
  const top = Math.max(1, ...terms.map((t) => t.factor.hi));
  return (
    <>
      <h2>{say('model.weather')}</h2>
      <p>{say('model.weatherText', { known: of.daysKnown, staffed: of.daysStaffed })}</p>
      {terms.length > 0 ? (
        <Table
          label={say('model.weather')}
          rows={terms}
          id={(t) => t.name}
          parts={[
            {
              head: say('arrivals.effect'),
              cell: (t) => (
                <>
                  <b>{t.name}</b>
                  <span className="when">{t.words}</span>
                </>
              ),
            },
            { head: say('arrivals.factor'), cell: (t) => <Range of={t.factor} top={top} what={t.name} /> },
          ]}
        />
      ) : null}
      <ul className="inline-facts">
        {of.said?.map((s) => (
          <li key={s}>{s}</li>
        ))}
      </ul>
    </>
  );
}

function Forms({ of }: { of: Card }) {
  return (
    <>
      <h2>{say('model.forms')}</h2>
      <Table
        label={say('model.forms')}
        rows={of.forms ?? []}
        id={(f) => f.name}
        parts={[
          { head: say('model.form'), cell: (f) => f.name },
          { head: 'AIC', n: true, cell: (f) => f.aic?.toFixed(1) },
          { head: 'BIC', n: true, cell: (f) => f.bic?.toFixed(1) },
          { head: say('model.note'), cell: (f) => (f.used ? <b>{say('model.used1')}</b> : (f.note ?? '')) },
        ]}
      />
      <How>{say('model.howForms', { logLik: of.logLikelihood.toFixed(1) })}</How>
    </>
  );
}

function Held({ of }: { of: Schemas['HeldOutTest'] }) {
  return (
    <>
      <h2>{say('model.held')}</h2>
      {of.note ? (
        <p>{of.note}</p>
      ) : (
        <>
          <p>
            {say('model.heldText', { weeks: of.weeks, days: of.daysStaffed, craft: of.craft, pairs: of.pairs })}{' '}
            <strong>{say(of.better ? 'model.better' : 'model.notBetter')}</strong>
          </p>
          <Table
            label={say('model.held')}
            rows={of.scores ?? []}
            id={(s) => s.name}
            parts={[
              { head: say('model.form'), cell: (s) => s.name },
              { head: say('model.logScore'), n: true, cell: (s) => s.logScore.toFixed(4) },
              {
                head: say('model.hits', { k: of.k }),
                n: true,
                cell: (s) => `${s.hits} (${Math.round(s.hitRate * 100)} %)`,
              },
              { head: say('model.bias'), n: true, cell: (s) => s.bias.toFixed(2) },
            ]}
          />
          <How>{say('model.howHeld', { k: of.k })}</How>
        </>
      )}
    </>
  );
}
