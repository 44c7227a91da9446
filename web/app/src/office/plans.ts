import type { Schemas } from '../shared/api.ts';

export type Wishes = Schemas['PlanWishes'];
export type Plan = Schemas['SeasonPlan'];
export type PlanShift = Schemas['PlanShift'];
export type Pin = 'free' | 'in' | 'out';

/** A part of the week: a kind of day and a part of it. */
export interface Cell {
  day: PlanShift['day'];
  block: string;
  from: number;
  to: number;
}

const usual = [
  { name: 'morning', from: 6, to: 12 },
  { name: 'afternoon', from: 12, to: 18 },
];

/** The parts of the week that a plan knows; the usual ones are those the server fills in. */
export function cellsOf(wishes: Wishes | undefined): Cell[] {
  const blocks = wishes?.blocks?.length ? wishes.blocks : usual;
  return (['weekday', 'free day'] as const).flatMap((day) =>
    blocks.map((b) => ({ day, block: b.name, from: b.from, to: b.to })),
  );
}

export const cellKey = (c: { day: string; block: string }) => `${c.day} ${c.block}`;

/** What was decided by hand for one part of the week at one launch. */
export function pinOf(wishes: Wishes, launch: string, cell: Cell): Pin {
  const f = wishes.fixed?.find((p) => p.launch === launch && cellKey(p) === cellKey(cell));
  return f ? (f.in ? 'in' : 'out') : 'free';
}

const after: Record<Pin, Pin> = { free: 'in', in: 'out', out: 'free' };

/** The wishes with the next decision for one part of the week: free, then in, then out, then free again. */
export function pinned(wishes: Wishes, launch: string, cell: Cell): Wishes {
  const next = after[pinOf(wishes, launch, cell)];
  const others = (wishes.fixed ?? []).filter((p) => p.launch !== launch || cellKey(p) !== cellKey(cell));
  const fixed = next === 'free' ? others : [...others, { launch, day: cell.day, block: cell.block, in: next === 'in' }];
  const { fixed: _, ...rest } = wishes;
  return fixed.length ? { ...rest, fixed } : rest;
}

export interface GridRow {
  launch: string;
  name: string;
  cells: Map<string, PlanShift>;
  met: number;
  missed: number;
}

/** A plan by launch: what its shifts stop, and the risk that arrives where it has nobody. The most first. */
export function gridOf(plan: Plan): GridRow[] {
  const rows = new Map<string, GridRow>();
  for (const s of plan.shifts) {
    const row = rows.get(s.launch) ?? { launch: s.launch, name: s.name, cells: new Map(), met: 0, missed: 0 };
    row.cells.set(cellKey(s), s);
    row.met += s.stops;
    rows.set(s.launch, row);
  }
  const left = plan.left
    .filter((l) => !rows.has(l.launch))
    .map((l) => ({ launch: l.launch, name: l.name, cells: new Map(), met: 0, missed: l.risk }));
  return [...[...rows.values()].sort((a, b) => b.met - a.met), ...left.sort((a, b) => b.missed - a.missed)];
}

export const few = (v: number) => v.toLocaleString('en', { maximumSignificantDigits: 3 });
export const whole = (v: number) => v.toLocaleString('en', { maximumFractionDigits: 0 });
/** An amount in the programme's currency, where its record names one. */
export const money = (v: number, currency: string | undefined) => (currency ? `${currency} ${whole(v)}` : whole(v));
export const percent = (v: number) => `${(100 * v).toLocaleString('en', { maximumFractionDigits: 1 })} %`;

/** A plan as it is kept: whole. Of those kept earlier there are the numbers, and the shifts that a roster needs. */
export type KeptResult = Partial<Plan> & { unit?: string };

/** The body of a plan's record: what was asked, what was left out left out, and what came of it. */
export function recordOf(name: string, season: string, asked: Wishes, plan: Plan): Record<string, unknown> {
  const bound = Math.max(plan.bound, plan.value);
  const result: KeptResult = { unit: 'risky craft a season, weighted', ...plan };
  return {
    name,
    season,
    constraints: asked,
    result,
    value: plan.value,
    bound,
    gap: bound > 0 ? (bound - plan.value) / bound : 0,
    ...(plan.wishes.seed && { seed: plan.wishes.seed }),
  };
}

export interface Kept {
  value?: number;
  bound?: number;
  gap?: number;
  constraints?: unknown;
  result?: unknown;
}

export const wishesOf = (kept: Kept) => (kept.constraints ?? {}) as Wishes;

/** A kept plan as it was computed, and whether all of it was kept: where not, the rest is left empty. */
export function planOf(kept: Kept): { plan: Plan; whole: boolean } {
  const result = (kept.result ?? {}) as KeptResult;
  const plan: Plan = {
    wishes: wishesOf(kept),
    made: true,
    value: kept.value ?? 0,
    bound: kept.bound ?? 0,
    better: kept.gap ?? 0,
    all: 0,
    cost: 0,
    hours: 0,
    method: '',
    shifts: [],
    organisms: [],
    units: [],
    alternatives: [],
    left: [],
    frontier: [],
    more: [],
    why: [],
    assumed: [],
    warnings: [],
    ...result,
  };
  return { plan, whole: result.made !== undefined };
}

/** The shifts of one plan that another has not: another team size counts as another shift. */
export function onlyIn(one: PlanShift[], other: PlanShift[]): PlanShift[] {
  const key = (s: PlanShift) => `${s.launch} ${cellKey(s)} ${s.people}`;
  const there = new Set(other.map(key));
  return one.filter((s) => !there.has(key(s)));
}
