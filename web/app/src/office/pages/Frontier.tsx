import { Link } from 'wouter';
import { useKind } from '../data.ts';
import { How } from '../parts/How.tsx';
import { More } from '../parts/PlanResult.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { useJob } from '../parts/useJob.ts';
import { Watch } from '../parts/Watch.tsx';
import { Wide } from '../parts/Wide.tsx';
import { few, money, type Plan, percent, planOf, whole } from '../plans.ts';
import { say } from '../words.ts';

const names = ['kept'] as const;

/** What more or less money would buy: the best plans found from budget to budget, and the bound above them. */
export default function Frontier() {
  const [{ kept }] = useFilters(names);
  const plans = useKind('plan', Boolean(kept));
  const { job, read, running } = useJob('plan');
  if (read.isPending || (kept && plans.isPending)) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const record = kept ? plans.data?.find((p) => p.id === kept) : undefined;
  const latest = !kept && job?.state === 'done' ? (job.result as Plan) : undefined;
  const plan = record ? planOf(record.body).plan : latest;
  return (
    <>
      <p className="crumb">
        <Link href={record ? `/plan?kept=${record.id}` : '/plan'}>{record?.name ?? say('nav.plan')}</Link>
      </p>
      <h1>{say('frontier.title')}</h1>
      <p className="lead">{say('frontier.lead')}</p>
      {plan?.frontier.length ? (
        <Curve plan={plan} />
      ) : (
        <p className="state">{say(running ? 'frontier.running' : plan ? 'frontier.notAsked' : 'frontier.none')}</p>
      )}
      <Watch />
    </>
  );
}

const box = { w: 720, h: 400, left: 64, right: 20, top: 20, bottom: 56 };

/** A round step that gives about four lines. */
export function step(most: number): number {
  const raw = most / 4;
  const ten = 10 ** Math.floor(Math.log10(raw));
  return ten * ([1, 2, 5, 10].find((m) => m * ten >= raw) ?? 10);
}

function lines(most: number): number[] {
  if (!(most > 0)) return [0];
  const by = step(most);
  return Array.from({ length: Math.floor(most / by) + 1 }, (_, i) => i * by);
}

function Curve({ plan }: { plan: Plan }) {
  const points = [...plan.frontier].sort((a, b) => a.money - b.money);
  const next = plan.next ? { cost: plan.cost + plan.next.cost, value: plan.value + plan.next.value } : undefined;
  return (
    <>
      <p className="board">
        {say('frontier.here', { cost: money(plan.cost, plan.currency), value: few(plan.value), all: few(plan.all) })}{' '}
        {plan.next
          ? say('frontier.next', { cost: money(plan.next.cost, plan.currency), value: few(plan.next.value) })
          : say('frontier.end')}
      </p>
      <Picture plan={plan} points={points} next={next} />
      <ul className="key">
        <li>{say('frontier.keyLine')}</li>
        <li>{say('frontier.keyBand')}</li>
        <li>{say('frontier.keyHere')}</li>
        <li>{say('frontier.keyTicks')}</li>
      </ul>
      <More plan={plan} level="h2" />
      <Twin plan={plan} points={points} />
    </>
  );
}

type Points = Plan['frontier'];

function Picture(props: { plan: Plan; points: Points; next: { cost: number; value: number } | undefined }) {
  const { plan, points, next } = props;
  const mostX = Math.max(...points.map((p) => p.money), plan.cost, next?.cost ?? 0);
  const mostY = Math.max(...points.map((p) => p.bound), plan.bound, next?.value ?? 0);
  const x = (v: number) => box.left + (mostX > 0 ? v / mostX : 0) * (box.w - box.left - box.right);
  const y = (v: number) => box.h - box.bottom - (mostY > 0 ? v / mostY : 0) * (box.h - box.top - box.bottom);
  const end = points[points.length - 1]?.money ?? 0;
  // Between two points the best found stays what it was; what is possible stays below the bound of the next larger budget.
  const best = points.flatMap((p, i) => [
    `${x(p.cost)},${y(p.value)}`,
    `${x(points[i + 1]?.cost ?? end)},${y(p.value)}`,
  ]);
  const bound = points.flatMap((p, i) => [
    `${x(points[i - 1]?.money ?? p.cost)},${y(p.bound)}`,
    `${x(p.money)},${y(p.bound)}`,
  ]);
  const base = box.h - box.bottom;
  const late = x(plan.cost) > box.w * 0.75;
  return (
    <Wide label={say('frontier.title')}>
      <svg className="frontier" viewBox={`0 0 ${box.w} ${box.h}`} role="img" aria-label={say('frontier.label')}>
        {lines(mostY).map((v) => (
          <g key={v}>
            <line className="grid" x1={box.left} x2={box.w - box.right} y1={y(v)} y2={y(v)} />
            <text x={box.left - 8} y={y(v) + 5} textAnchor="end">
              {few(v)}
            </text>
          </g>
        ))}
        {lines(mostX).map((v) => (
          <text key={v} x={x(v)} y={base + 26} textAnchor="middle">
            {whole(v)}
          </text>
        ))}
        <text x={box.w - box.right} y={box.h - 6} textAnchor="end">
          {plan.currency ? `${say('frontier.x')}, ${plan.currency}` : say('frontier.x')}
        </text>
        <text x={box.left} y={13}>
          {say('frontier.y')}
        </text>
        <polygon className="band" points={[...best, ...[...bound].reverse()].join(' ')} />
        <polyline className="bound" points={bound.join(' ')} />
        <polyline className="line" points={best.join(' ')} />
        {points.map((p) => (
          <g key={p.money}>
            <circle className="found" cx={x(p.cost)} cy={y(p.value)} r={4} />
            <line className="tick" x1={x(p.cost)} x2={x(p.cost)} y1={base} y2={base + 8} />
          </g>
        ))}
        {next ? <line className="tick next" x1={x(next.cost)} x2={x(next.cost)} y1={base - 12} y2={base + 8} /> : null}
        <circle className="here" cx={x(plan.cost)} cy={y(plan.value)} r={9} />
        <text
          className="name"
          x={x(plan.cost) + (late ? -14 : 14)}
          y={y(plan.value) + 28}
          textAnchor={late ? 'end' : 'start'}
        >
          {say('frontier.this')}
        </text>
      </svg>
    </Wide>
  );
}

/** The curve as a table. */
function Twin({ plan, points }: { plan: Plan; points: Points }) {
  return (
    <>
      <h2>{say('frontier.table')}</h2>
      <Table
        label={say('frontier.table')}
        rows={points.map((p, i) => ({ ...p, gain: p.value - (points[i - 1]?.value ?? 0) }))}
        id={(p) => String(p.money)}
        parts={[
          { head: say('frontier.col.money'), n: true, cell: (p) => money(p.money, plan.currency) },
          { head: say('frontier.col.cost'), n: true, cell: (p) => money(p.cost, plan.currency) },
          { head: say('frontier.col.stopped'), n: true, cell: (p) => few(p.value) },
          { head: say('frontier.col.share'), n: true, cell: (p) => (plan.all > 0 ? percent(p.value / plan.all) : '–') },
          { head: say('frontier.col.left'), n: true, cell: (p) => few(plan.all - p.value) },
          { head: say('frontier.col.gain'), n: true, cell: (p) => few(p.gain) },
          { head: say('frontier.col.better'), n: true, cell: (p) => percent(p.better) },
        ]}
      />
      <How links={[['/plan', say('plan.basis')]]}>{say('frontier.how')}</How>
    </>
  );
}
