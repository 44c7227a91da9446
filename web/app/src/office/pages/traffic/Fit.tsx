import type { Schemas } from '../../../shared/api.ts';
import { Wide } from '../../parts/Wide.tsx';
import { say } from '../../words.ts';
import { How, Sized } from './parts.tsx';
import { amount, span } from './traffic.ts';

type Goodness = Schemas['GoodnessOfFit'];
type Band = Schemas['FitBand'];

/** How well the model fits the counts it was fitted to. */
export function Fit({ of }: { of: Goodness }) {
  return (
    <>
      <h2>{say('model.fit')}</h2>
      {of.misfit?.length ? (
        <>
          <h3>{say('model.misfit')}</h3>
          <ul>
            {of.misfit.map((m) => (
              <li key={m}>{m}</li>
            ))}
          </ul>
        </>
      ) : null}
      <Bands title={say('model.distance')} bands={of.distance ?? []} />
      <Bands title={say('model.calibration')} bands={of.calibration ?? []} />
      <How>{say('model.howFit')}</How>
      {of.qq?.length ? <QQ of={of} points={of.qq} /> : null}
    </>
  );
}

/** The gap in standard deviations; the interval of 95 % is taken to be 3.92 of them wide. */
const pearson = (b: Band) => (b.observed - b.expected.mid) / ((b.expected.hi - b.expected.lo) / 3.92 || 1);

function Bands({ title, bands }: { title: string; bands: Band[] }) {
  if (bands.length === 0) return null;
  const top = Math.max(...bands.flatMap((b) => [b.observed, b.expected.hi]));
  const x = (v: number) => 6 + (v / top) * 188;
  return (
    <>
      <h3>{title}</h3>
      <Wide label={title}>
        <table>
          <thead>
            <tr>
              <th scope="col">{say('model.band')}</th>
              <th scope="col" className="n">
                {say('model.observed')}
              </th>
              <th scope="col">{say('model.expected')}</th>
              <th scope="col">{say('model.pearson')}</th>
              <th scope="col" className="n">
                {say('model.pairs')}
              </th>
            </tr>
          </thead>
          <tbody>
            {bands.map((b) => {
              const off = pearson(b);
              const words = { band: b.name, observed: b.observed, mid: amount(b.expected.mid), span: span(b.expected) };
              return (
                <tr key={b.name}>
                  <th scope="row">{b.name}</th>
                  <td className="n">{b.observed}</td>
                  <td>
                    <span className="rates">
                      <svg
                        className="chart"
                        viewBox="0 0 200 20"
                        width="200"
                        height="20"
                        role="img"
                        aria-label={say('model.fitLabel', words)}
                      >
                        <path d={`M${x(b.expected.lo)} 10H${x(b.expected.hi)}`} className="line" />
                        <path d={`M${x(b.expected.mid)} 3V17`} className="line" />
                        <rect x={x(b.observed) - 4} y="6" width="8" height="8" className="met" />
                      </svg>
                      <span>
                        {amount(b.expected.mid)} <span className="when">({span(b.expected)})</span>
                      </span>
                    </span>
                  </td>
                  <td>
                    {off > 0 ? '+' : ''}
                    {off.toFixed(1)} {Math.abs(off) > 2 ? <b>{say('model.outside')}</b> : ''}
                  </td>
                  <td className="n">{b.pairs}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </Wide>
    </>
  );
}

function QQ({ of, points }: { of: Goodness; points: (number[] | null)[] }) {
  const all = points.flatMap((p) => (p && p.length === 2 ? [[p[0], p[1]] as [number, number]] : []));
  const reach = Math.ceil(2 * Math.max(1, ...all.flat().map(Math.abs))) / 2;
  return (
    <>
      <h3>{say('model.qq')}</h3>
      <Sized>
        {(width) => {
          const size = Math.min(width, 360);
          const x = (v: number) => size / 2 + (v / reach) * (size / 2 - 42);
          const y = (v: number) => size / 2 - (v / reach) * (size / 2 - 42);
          const marks = [-reach, 0, reach];
          return (
            <svg className="chart" width={size} height={size} role="img" aria-label={say('model.qqLabel')}>
              {marks.map((m) => (
                <g key={m}>
                  <path d={`M${x(-reach)} ${y(m)}H${x(reach)}M${x(m)} ${y(-reach)}V${y(reach)}`} className="grid" />
                  <text x={x(-reach) - 4} y={y(m) + 4} textAnchor="end">
                    {m}
                  </text>
                  <text x={x(m)} y={size - 16} textAnchor="middle">
                    {m}
                  </text>
                </g>
              ))}
              <text x={x(-reach) + 4} y="14">
                {say('model.qqY')}
              </text>
              <text x={x(reach)} y={size - 2} textAnchor="end">
                {say('model.qqX')}
              </text>
              <path d={`M${x(-reach)} ${y(-reach)}L${x(reach)} ${y(reach)}`} className="even" />
              {all.map(([q, r]) => (
                <circle key={q} cx={x(q)} cy={y(r)} r="3.5" />
              ))}
            </svg>
          );
        }}
      </Sized>
      <p>
        {say('model.qqText', {
          mean: of.residualMean.toFixed(3),
          sd: of.residualSd.toFixed(3),
          ks: of.ks.toFixed(3),
          limit: of.ksLimit.toFixed(3),
          r2: of.r2.toFixed(2),
        })}
      </p>
      <details>
        <summary>{say('flows.table')}</summary>
        <Wide label={say('model.qq')}>
          <table>
            <thead>
              <tr>
                <th scope="col" className="n">
                  {say('model.qqX')}
                </th>
                <th scope="col" className="n">
                  {say('model.qqY')}
                </th>
              </tr>
            </thead>
            <tbody>
              {all.map(([q, r]) => (
                <tr key={q}>
                  <td className="n">{q.toFixed(2)}</td>
                  <td className="n">{r.toFixed(2)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
      <How>{say('model.howQQ')}</How>
    </>
  );
}
