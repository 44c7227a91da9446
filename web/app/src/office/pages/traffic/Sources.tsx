import type { Schemas } from '../../../shared/api.ts';
import { useOrganisms } from '../../data.ts';
import { useFilters } from '../../parts/query.ts';
import { Reading, Trouble } from '../../parts/State.tsx';
import { say } from '../../words.ts';
import { useRisk } from './data.ts';
import { How, SubPages, Warnings } from './parts.tsx';
import { Pairs, Ranking } from './Ranking.tsx';
import { amount, percent, span } from './traffic.ts';
import { WhatIf } from './WhatIf.tsx';

type Organism = Schemas['OrganismFlow'];

const names = ['organism', 'water', 'if'] as const;

/** Where the risk comes from and where it goes, organism by organism; and what one more declaration would change. */
export default function Sources() {
  const [filters, set] = useFilters(names);
  const read = useRisk();
  const { name } = useOrganisms();
  const all = read.data?.organisms ?? [];
  const one = all.find((o) => o.organism === filters.organism) ?? all[0];
  return (
    <>
      <SubPages />
      <h1>{say('sources.title')}</h1>
      <p className="lead">{say('sources.lead')}</p>
      {read.error ? <Trouble error={read.error} again={() => void read.refetch()} /> : null}
      {!read.data ? (
        read.error ? null : (
          <Reading />
        )
      ) : (
        <>
          <Warnings of={read.data.warnings} />
          {one ? (
            <>
              <form className="filters" onSubmit={(event) => event.preventDefault()}>
                <label className="long-choice">
                  {say('sources.organism')}
                  <select value={one.organism} onChange={(event) => set({ organism: event.target.value })}>
                    {all.map((o) => (
                      <option key={o.organism} value={o.organism}>
                        {name(o.organism)}
                      </option>
                    ))}
                  </select>
                </label>
              </form>
              <OneOrganism key={one.organism} of={one} risk={read.data} />
            </>
          ) : (
            <p>{say('sources.none')}</p>
          )}
          <WhatIf water={filters.water} organism={filters.if} set={(water, organism) => set({ water, if: organism })} />
        </>
      )}
    </>
  );
}

function OneOrganism({ of, risk }: { of: Organism; risk: Schemas['RiskFlows'] }) {
  const { through, arriving } = of.total;
  return (
    <>
      <p>
        <strong>
          {say('sources.total', { through: amount(through.mid), span: span(through), arriving: amount(arriving.mid) })}
        </strong>{' '}
        {of.watersNotLooked > 0
          ? say('sources.notLooked', { n: amount(of.notLooked), waters: of.watersNotLooked })
          : ''}
      </p>
      <How card>{say('sources.howText', { draws: risk.draws, seed: risk.seed })}</How>
      <details>
        <summary>{say('sources.assumptions')}</summary>
        <ul>
          {risk.assumed?.map((a) => (
            <li key={a}>{a}</li>
          ))}
        </ul>
      </details>
      <Inputs of={of} />
      <Ranking
        title={say('sources.from')}
        sites={of.sources}
        head={say('sources.name')}
        path="/waters"
        records={(id) => `/ledger?lastWater=${id}&from=${risk.from}&to=${risk.to}`}
      />
      <Ranking
        title={say('sources.launches')}
        sites={of.launches}
        head={say('sources.launch')}
        path="/launches"
        records={(id) => `/ledger?launch=${id}&from=${risk.from}&to=${risk.to}`}
      />
      <Ranking title={say('sources.to')} sites={of.waters} head={say('sources.name')} path="/waters" />
      <Pairs pairs={of.pairs} from={risk.from} to={risk.to} />
    </>
  );
}

/** The shares that a passage is multiplied with, with their sources. */
function Inputs({ of }: { of: Organism }) {
  const e = of.evidence;
  return (
    <details>
      <summary>{say('sources.inputs')}</summary>
      <dl className="facts">
        <div>
          <dt>{say('sources.carryPublished')}</dt>
          <dd>
            {percent(of.carryPublished.mid)} ({percent(of.carryPublished.lo)} – {percent(of.carryPublished.hi)})
            {of.carryAssumed ? `; ${say('sources.assumed')}` : ''}
          </dd>
        </div>
        <div>
          <dt>{say('sources.basis')}</dt>
          <dd>{of.carryBasis}</dd>
        </div>
        <div>
          <dt>{say('sources.evidence')}</dt>
          <dd>{say('sources.evidenceText', { ...e })}</dd>
        </div>
        <div>
          <dt>{say('sources.carry')}</dt>
          <dd>
            {percent(of.carry.mid)} ({percent(of.carry.lo)} – {percent(of.carry.hi)})
          </dd>
        </div>
        <div>
          <dt>{say('sources.alive')}</dt>
          <dd>{say('sources.aliveText', { lo: percent(of.aliveLo), hi: percent(of.aliveHi), n: of.timed })}</dd>
        </div>
        <div>
          <dt>{say('sources.find')}</dt>
          <dd>
            {percent(of.find.mid)} ({percent(of.find.lo)} – {percent(of.find.hi)})
          </dd>
        </div>
      </dl>
    </details>
  );
}
