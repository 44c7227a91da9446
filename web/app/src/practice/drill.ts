import type {
  Answer,
  DrillCraft,
  Finding,
  Matter,
  Outcome,
  RoundOut,
  Sight,
  StepChosen,
  Stop,
  Task,
  Turn,
  Wetness,
} from '../engine/types.ts';

/** What the trainee did and said at one place. */
export interface Note {
  readonly acts: readonly Task[];
  readonly sight?: Sight;
  readonly wet?: Wetness;
  readonly found?: Matter;
  readonly answered: boolean;
}

/** One drill under way. Times are milliseconds of the page's clock. */
export interface Doing {
  readonly drill: DrillCraft;
  readonly round: RoundOut;
  readonly startedAt: number;
  readonly here: string;
  readonly arrivedAt: number;
  /** Of this stop: acts done since arriving, and whether anything was. */
  readonly stop: { readonly acts: readonly Task[]; readonly touched: boolean };
  readonly notes: Readonly<Record<string, Note>>;
  readonly walk: readonly Stop[];
  readonly plugsOut?: Answer;
  readonly driveLowered?: Answer;
}

export const empty: Note = { acts: [], answered: false };
/** The longest stop that a record takes. */
const MOST_S = 14400;

export const noteOf = (d: Doing, place: string): Note => d.notes[place] ?? empty;

export function begin(drill: DrillCraft, round: RoundOut, now: number): Doing {
  return {
    drill,
    round,
    startedAt: now,
    here: round.round.stops[0]?.place ?? '',
    arrivedAt: now,
    stop: { acts: [], touched: false },
    notes: {},
    walk: [],
  };
}

/** Goes to a place. The time at the one before ends there; a place that nothing was done at was passed over. */
export function arrive(d: Doing, place: string, now: number): Doing {
  if (d.here === place) return d;
  return { ...leave(d, now), here: place, arrivedAt: now, stop: { acts: [], touched: false } };
}

function leave(d: Doing, now: number): Doing {
  if (!d.stop.touched) return d;
  const seconds = Math.min(MOST_S, Math.max(0, Math.round((now - d.arrivedAt) / 100) / 10));
  const wet = noteOf(d, d.here).wet;
  const stop: Stop = {
    place: d.here,
    acts: [...d.stop.acts],
    ...(wet ? { wet } : {}),
    atS: Math.round((d.arrivedAt - d.startedAt) / 100) / 10,
    seconds,
  };
  return { ...d, walk: [...d.walk, stop], stop: { acts: [], touched: false } };
}

function note(d: Doing, place: string, change: Partial<Note>): Doing {
  return { ...d, notes: { ...d.notes, [place]: { ...noteOf(d, place), ...change } } };
}

/** Does something at a place and takes what it showed. */
export function act(d: Doing, place: string, task: Task, sight: Sight, now: number): Doing {
  const there = arrive(d, place, now);
  const acts = noteOf(there, place).acts;
  return note({ ...there, stop: { acts: [...there.stop.acts, task], touched: true } }, place, {
    acts: acts.includes(task) ? acts : [...acts, task],
    sight,
  });
}

/** Says what is at a place: nothing, or something, and how wet it is. */
export function answer(d: Doing, place: string, wet: Wetness, found: Matter | undefined, now: number): Doing {
  const there = arrive(d, place, now);
  const { found: _, ...before } = noteOf(there, place);
  const next: Note = { ...before, answered: true, wet, ...(found ? { found } : {}) };
  return { ...there, stop: { ...there.stop, touched: true }, notes: { ...there.notes, [place]: next } };
}

/** Takes an answer back, so that it can be given again. */
export const reopen = (d: Doing, place: string): Doing => note(d, place, { answered: false });

/** The next place of the round without an answer, from where the trainee stands; undefined when all are answered. */
export function nextOpen(d: Doing): string | undefined {
  const stops = d.round.round.stops;
  const at = stops.findIndex((s) => s.place === d.here);
  const order = [...stops.slice(at + 1), ...stops.slice(0, at + 1)];
  return order.find((s) => !noteOf(d, s.place).answered)?.place;
}

/** The place so many steps further in the round. */
export function step(d: Doing, by: number): string {
  const stops = d.round.round.stops;
  const at = stops.findIndex((s) => s.place === d.here);
  return stops[(at + by + stops.length) % stops.length]?.place ?? d.here;
}

export const answered = (d: Doing): number => d.round.round.stops.filter((s) => noteOf(d, s.place).answered).length;

export const findings = (d: Doing): Finding[] =>
  d.round.round.stops.flatMap((s) => {
    const { found } = noteOf(d, s.place);
    return found ? [{ place: s.place, matter: found, removed: 'none' as const }] : [];
  });

/** What is handed in. */
export function turnOf(d: Doing, outcome: Outcome, steps: readonly StepChosen[], now: number): Turn {
  return {
    walk: [...leave(d, now).walk],
    findings: findings(d),
    ...(d.plugsOut ? { plugsOut: d.plugsOut } : {}),
    ...(d.driveLowered ? { driveLowered: d.driveLowered } : {}),
    outcome,
    ...(steps.length ? { steps: [...steps] } : {}),
  };
}
