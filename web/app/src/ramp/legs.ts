import type { Place, RoundPlan, RoundStop } from '../engine/types.ts';

/** Where a stretch of the walk lies, for its heading. */
export type Side = 'bow' | 'stern' | 'port' | 'starboard' | 'aboard' | 'gear' | 'hidden';

/**
 * A stretch of the walk that is answered from one stand or a few steps: consecutive stops of the engine's round, in its order. A place
 * that nobody can see into is a leg of its own, because it asks another question.
 */
export interface Leg {
  readonly n: number; // from 1
  readonly side: Side;
  /** Which part of a side, where a side takes several legs. */
  readonly part?: { readonly n: number; readonly of: number };
  readonly stops: readonly RoundStop[];
}

/** Most places that one screen lists: what a thumb's reach and a glance take in. */
const MOST = 8;

function sideOf(stop: RoundStop, place: Place | undefined, lengthM: number): Side {
  if (place?.hidden) return 'hidden';
  if (stop.zone === 'gear') return 'gear';
  if (stop.posture === 'aboard') return 'aboard';
  if (stop.standXM < 0) return 'bow';
  if (stop.standXM > lengthM) return 'stern';
  return stop.standYM < 0 ? 'port' : 'starboard';
}

/** Cuts the walk into legs. No stop is lost, doubled or moved. */
export function legsOf(round: RoundPlan, places: readonly Place[], lengthM: number): Leg[] {
  const byId = new Map(places.map((p) => [p.id, p]));
  const runs: { side: Side; stops: RoundStop[] }[] = [];
  for (const stop of round.stops) {
    const side = sideOf(stop, byId.get(stop.place), lengthM);
    const last = runs.at(-1);
    if (last && last.side === side && side !== 'hidden') last.stops.push(stop);
    else runs.push({ side, stops: [stop] });
  }
  const legs: Leg[] = [];
  for (const run of joinShort(runs)) {
    const pieces = split(run.stops);
    pieces.forEach((stops, i) => {
      const part = pieces.length > 1 ? { n: i + 1, of: pieces.length } : undefined;
      legs.push({ n: legs.length + 1, side: run.side, stops, ...(part ? { part } : {}) });
    });
  }
  return legs;
}

/**
 * The stops that one answer about pumps settles, the one asked at among them. Ballast that nobody can see into is emptied by the same pumps
 * of the same owner, tanks, valves and vents alike, so the question is put once; every other such place has its own.
 */
export function pumpedTogether(round: RoundPlan, places: readonly Place[], place: Place): RoundStop[] {
  const ballast = new Set(places.filter((p) => p.hidden && p.part === 'ballast').map((p) => p.id));
  return round.stops.filter((s) => (ballast.has(place.id) ? ballast.has(s.place) : s.place === place.id));
}

/** A run of one or two stops round the rig joins its neighbour: two steps are no reason for another screen. */
function joinShort(runs: { side: Side; stops: RoundStop[] }[]) {
  const rig = (s: Side) => s === 'bow' || s === 'stern' || s === 'port' || s === 'starboard';
  const out: { side: Side; stops: RoundStop[] }[] = [];
  for (const run of runs) {
    const last = out.at(-1);
    if (last && rig(run.side) && rig(last.side) && (run.stops.length <= 2 || last.stops.length <= 2)) {
      if (last.stops.length + run.stops.length <= MOST) {
        const side = last.stops.length >= run.stops.length ? last.side : run.side;
        out[out.length - 1] = { side, stops: [...last.stops, ...run.stops] };
        continue;
      }
    }
    out.push(run);
  }
  return out;
}

/** Cuts a long run into even pieces, at a change of stand where there is one near. */
function split(stops: readonly RoundStop[]): RoundStop[][] {
  const pieces = Math.ceil(stops.length / MOST);
  const out: RoundStop[][] = [];
  let from = 0;
  for (let i = 1; i <= pieces; i++) {
    let to = i === pieces ? stops.length : Math.round((stops.length * i) / pieces);
    while (i < pieces && to - from > 2 && to - from > MOST / 2 && stops[to]?.station === stops[to - 1]?.station) to--;
    while (stops.length - to > MOST * (pieces - i)) to++;
    out.push(stops.slice(from, to));
    from = to;
  }
  return out.filter((p) => p.length > 0);
}

/** What a place is called; its id where the walk does not know it. */
export function nameOf(places: readonly Place[], id: string | undefined): string {
  return places.find((p) => p.id === id)?.name ?? id ?? '';
}
