import type { Place, RoundPlan } from '../engine/types.ts';
import type { Leg } from '../ramp/legs.ts';

/** How a leg stands: open, being walked, or done. */
export type LegState = 'open' | 'here' | 'done';

export interface RigProps {
  profile: string;
  lengthM: number;
  beamM: number;
  trailered: boolean;
  places: readonly Place[];
  round: RoundPlan;
  legs: readonly Leg[];
  state: (leg: Leg) => LegState;
  /** Places to mark: those of the leg that is walked, or those with findings. */
  marked: ReadonlySet<string>;
  found: ReadonlySet<string>;
  label: string;
}

const PX = 30; // units of the drawing for a metre
const SIDE_TOP_M = 2.4; // most height shown in the side view
const STAND_PX = 19; // largest stand mark, kept inside of the drawing

/**
 * This very craft in plan and side view, as a builder draws one: the two share their length. Bow to the right, port below. The walk is the
 * dashed line, its legs are numbered; a leg that is done is inked.
 */
export function Rig(p: RigProps) {
  const xs = [...p.places.map((q) => q.xM), ...p.round.path.map((q) => q[0]), 0, p.lengthM];
  const fore = Math.min(...xs) - 0.6;
  const aft = Math.max(...xs) + 0.6;
  const half =
    Math.max(
      p.beamM / 2 + 0.5,
      ...p.round.stops.map((q) => Math.abs(q.standYM)),
      ...p.round.path.map((q) => Math.abs(q[1])),
    ) +
    STAND_PX / PX;
  const top = Math.min(SIDE_TOP_M, Math.max(...p.places.map((q) => q.zM)) + 0.35);
  const toX = (m: number) => (aft - m) * PX;
  const toY = (m: number) => (half - m) * PX; // starboard is above, because the bow points right
  const planH = half * 2 * PX;
  const ground = planH + top * PX;
  const toZ = (m: number) => ground - Math.min(m, top) * PX;
  const wide = (aft - fore) * PX;
  // A number that was moved aside may stand outside of the drawing, which then reaches out to it.
  const stands = standsOf(p.legs, p.state, toX, toY);
  const left = Math.min(0, ...stands.map((s) => s.x - STAND_PX));
  const right = Math.max(wide, ...stands.map((s) => s.x + STAND_PX));
  const upper = Math.min(0, ...stands.map((s) => s.y - STAND_PX));
  return (
    <svg
      className="rig"
      viewBox={`${left} ${upper} ${right - left} ${ground + 8 - upper}`}
      role="img"
      aria-label={p.label}
    >
      {p.trailered ? <TrailerPlan p={p} toX={toX} toY={toY} /> : null}
      <path className="rig-hull" d={planPath(p.profile, p.lengthM, p.beamM, toX, toY)} />
      <path
        className="rig-walk"
        d={p.round.path.map((q, i) => `${i ? 'L' : 'M'}${toX(q[0])} ${toY(q[1])}`).join(' ')}
      />
      <path className="rig-ground" d={`M0 ${ground} H${wide}`} />
      {p.trailered ? <TrailerSide p={p} toX={toX} toZ={toZ} /> : null}
      <path className="rig-hull" d={sidePath(p.profile, p.lengthM, p.places, toX, toZ)} />
      {p.places
        .filter((q) => p.marked.has(q.id) || p.found.has(q.id))
        .map((q) => (
          <Mark key={q.id} x={toX(q.xM)} y={toY(q.yM)} z={toZ(q.zM)} found={p.found.has(q.id)} />
        ))}
      {stands.map((at) => (
        <Stand key={at.leg.n} at={at} state={p.state(at.leg)} />
      ))}
    </svg>
  );
}

type Map1 = (m: number) => number;

function Mark({ x, y, z, found }: { x: number; y: number; z: number; found: boolean }) {
  return (
    <g className={found ? 'rig-found' : 'rig-mark'}>
      {[y, z].map((v) =>
        found ? (
          <path key={v} d={`M${x} ${v - 9} L${x + 9} ${v} L${x} ${v + 9} L${x - 9} ${v} Z`} />
        ) : (
          <circle key={v} cx={x} cy={v} r={5} />
        ),
      )}
    </g>
  );
}

interface Placed {
  leg: Leg;
  x: number;
  y: number;
  /** There is no room for its number: a dot stands for it, and the list has it in words. */
  crowded: boolean;
}

/**
 * Where each leg's number stands: at its middle stop, moved aside where another number stands already. The leg that is walked chooses first
 * and is drawn last.
 */
function standsOf(legs: readonly Leg[], state: (l: Leg) => LegState, toX: Map1, toY: Map1): Placed[] {
  const out: Placed[] = [];
  const first = (l: Leg) => (state(l) === 'here' ? 0 : 1);
  for (const leg of [...legs].sort((a, b) => first(a) - first(b) || a.n - b.n)) {
    const mid = leg.stops[Math.floor(leg.stops.length / 2)];
    if (!mid) continue;
    let [x, y] = [toX(mid.standXM), toY(mid.standYM)];
    const nearest = () => out.find((o) => !o.crowded && Math.hypot(o.x - x, o.y - y) < 2 * STAND_PX - 10);
    for (let tries = 0; tries < 6; tries++) {
      const near = nearest();
      if (!near) break;
      if (tries % 2 === 0) y = near.y + (y >= near.y ? 1 : -1) * (2 * STAND_PX - 9);
      else x = near.x + (x >= near.x ? 1 : -1) * (2 * STAND_PX - 9);
    }
    out.push({ leg, x, y, crowded: nearest() !== undefined });
  }
  return out.reverse();
}

function Stand({ at: { leg, x, y, crowded }, state }: { at: Placed; state: LegState }) {
  if (crowded)
    return (
      <g className={`rig-stand rig-${state}`}>
        <circle cx={x} cy={y} r={5} />
      </g>
    );
  return (
    <g className={`rig-stand rig-${state}`}>
      <circle cx={x} cy={y} r={state === 'here' ? 17 : 12} />
      <text x={x} y={y} dy="0.36em" fontSize={state === 'here' ? 20 : 15}>
        {leg.n}
      </text>
    </g>
  );
}

function TrailerPlan({ p, toX, toY }: { p: RigProps; toX: Map1; toY: Map1 }) {
  const tip = Math.min(...p.places.map((q) => q.xM));
  const w = p.beamM * 0.28;
  const axle = p.lengthM * 0.68;
  const wheel = (side: number) => `M${toX(axle - 0.35)} ${toY(side)} H${toX(axle + 0.35)}`;
  return (
    <g className="rig-trailer">
      <path
        d={`M${toX(tip)} ${toY(0)} L${toX(0.3)} ${toY(0)} M${toX(0.1)} ${toY(0)} L${toX(p.lengthM * 0.3)} ${toY(w)} H${toX(p.lengthM)} M${toX(0.1)} ${toY(0)} L${toX(p.lengthM * 0.3)} ${toY(-w)} H${toX(p.lengthM)}`}
      />
      <path d={`M${toX(axle)} ${toY(p.beamM * 0.55)} V${toY(-p.beamM * 0.55)}`} />
      <path className="rig-wheel" d={`${wheel(p.beamM * 0.56)} ${wheel(-p.beamM * 0.56)}`} />
    </g>
  );
}

function TrailerSide({ p, toX, toZ }: { p: RigProps; toX: Map1; toZ: Map1 }) {
  const tip = Math.min(...p.places.map((q) => q.xM));
  return (
    <g className="rig-trailer">
      <path d={`M${toX(tip)} ${toZ(0.45)} H${toX(p.lengthM)} M${toX(0.2)} ${toZ(0.45)} V${toZ(0.95)}`} />
      <circle cx={toX(p.lengthM * 0.68)} cy={toZ(0.32)} r={0.3 * PX} />
    </g>
  );
}

/** The outline from above, by family of hull. */
function planPath(profile: string, l: number, b: number, toX: Map1, toY: Map1): string {
  const h = b / 2;
  const at = (x: number, y: number) => `${toX(x)} ${toY(y)}`;
  const both = (f: (s: 1 | -1) => string) => f(1) + f(-1);
  switch (profile) {
    case 'canoe':
      return both((s) => `M${at(0, 0)} Q${at(l * 0.3, h * 1.5 * s)} ${at(l * 0.5, h * s)} T${at(l, 0)}`);
    case 'board':
      return both(
        (s) =>
          `M${at(0, 0)} C${at(0.1 * l, h * s)} ${at(0.3 * l, h * s)} ${at(l / 2, h * s)} S${at(l, h * s)} ${at(l, 0)}`,
      );
    case 'tubes':
      return `${both((s) => `M${at(0, h * 0.8 * s)} C${at(0.1 * l, h * s)} ${at(0.1 * l, h * s)} ${at(0.15 * l, h * s)} L${at(l, h * s)} L${at(l, h * 0.5 * s)} L${at(0.15 * l, h * 0.5 * s)} Q${at(0.05 * l, h * 0.5 * s)} ${at(0, h * 0.8 * s)} Z`)} M${at(0.12 * l, h * 0.5)} L${at(0.12 * l, -h * 0.5)}`;
    case 'ring':
      return both((s) => `M${at(0, 0)} C${at(0, h * 1.3 * s)} ${at(l, h * 1.3 * s)} ${at(l, 0)}`);
    case 'raft':
      return both(
        (s) =>
          `M${at(0, 0)} Q${at(0, h * s)} ${at(l * 0.2, h * s)} L${at(l * 0.8, h * s)} Q${at(l, h * s)} ${at(l, 0)}`,
      );
    case 'flat':
    case 'frame':
      return `M${at(0, h * 0.75)} L${at(0.12 * l, h)} L${at(l, h)} L${at(l, -h)} L${at(0.12 * l, -h)} L${at(0, -h * 0.75)} Z`;
    case 'floats':
      return `${both((s) => `M${at(0, h * 0.8 * s)} Q${at(0.2 * l, h * s)} ${at(0.5 * l, h * s)} L${at(l, h * 0.8 * s)} Q${at(0.4 * l, h * 0.5 * s)} ${at(0, h * 0.8 * s)} Z`)} M${at(0.2 * l, h * 0.6)} L${at(0.2 * l, -h * 0.6)} M${at(0.7 * l, h * 0.6)} L${at(0.7 * l, -h * 0.6)}`;
    default:
      return `${both(
        (s) =>
          `M${at(0, 0)} C${at(0.16 * l, h * 0.75 * s)} ${at(0.34 * l, h * s)} ${at(0.55 * l, h * s)} L${at(l, h * 0.9 * s)}`,
      )} M${at(l, h * 0.9)} L${at(l, -h * 0.9)}`;
  }
}

/** The outline from the side, between the lowest and the highest place of its hull. */
function sidePath(profile: string, l: number, places: readonly Place[], toX: Map1, toZ: Map1): string {
  const hull = places.filter((q) => q.zone === 'hull' || q.zone === 'transom').map((q) => q.zM);
  const keel = Math.max(0, Math.min(...(hull.length ? hull : [0.3])) - 0.05);
  const top = Math.max(keel + 0.3, ...(hull.length ? hull : [0.8]));
  const at = (x: number, z: number) => `${toX(x)} ${toZ(z)}`;
  switch (profile) {
    case 'canoe':
    case 'raft':
      return `M${at(0, top)} Q${at(l * 0.06, keel)} ${at(l * 0.25, keel)} L${at(l * 0.75, keel)} Q${at(l * 0.94, keel)} ${at(l, top)} Q${at(l * 0.8, top - 0.12)} ${at(l / 2, top - 0.12)} T${at(0, top)} Z`;
    case 'board':
    case 'ring':
      return `M${at(0, top)} Q${at(l * 0.1, keel)} ${at(l * 0.3, keel)} L${at(l, keel)} L${at(l, top)} Z`;
    case 'tubes':
    case 'floats':
    case 'frame':
    case 'flat':
      return `M${at(0, top)} L${at(l * 0.08, keel)} L${at(l, keel)} L${at(l, top)} Z`;
    default:
      return `M${at(0, top)} C${at(l * 0.05, top - (top - keel) * 0.5)} ${at(l * 0.16, keel)} ${at(l * 0.34, keel)} L${at(l, keel)} L${at(l * 1.01, top - 0.08)} Q${at(l * 0.5, top - 0.1)} ${at(0, top)} Z`;
  }
}
