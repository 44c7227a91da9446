import type {
  Check,
  Finding,
  Inspection,
  Mark,
  Override,
  Place,
  RoundStop,
  Setup,
  Verdict,
  Visit,
  Wetness,
} from '../engine/types.ts';

/**
 * One boat at the ramp, as a list of acts. The list is what is kept; everything shown is folded from it, so that undo is taking the
 * last act back, and a phone that died comes up at the same stop.
 */
export type Act = { readonly at: number } & (
  | { readonly do: 'craft'; readonly setup: Setup; readonly known?: boolean }
  | { readonly do: 'setup'; readonly setup: Setup }
  | { readonly do: 'direction'; readonly direction: Direction }
  | { readonly do: 'mark'; readonly mark: Mark }
  | { readonly do: 'water'; readonly water: string } // '' = not sure
  | { readonly do: 'out'; readonly outAt: string | null } // null = not sure
  | { readonly do: 'stay'; readonly stay: '' | 'day_use' | 'moored' }
  | { readonly do: 'another' } // one more water within the look-back
  | { readonly do: 'next'; readonly water: string }
  | { readonly do: 'outlet'; readonly outlet: Outlet; readonly answer: '' | 'yes' | 'no' }
  | { readonly do: 'started' } // the owner has been asked to start draining
  | { readonly do: 'turn' } // walk the other way round
  | { readonly do: 'checks'; readonly checks: readonly Check[] }
  | { readonly do: 'found'; readonly finding: Finding; readonly check: Check }
  | { readonly do: 'mend'; readonly finding: number; readonly change: Partial<Finding> }
  | { readonly do: 'unfound'; readonly finding: number } // entered by mistake
  | { readonly do: 'photo'; readonly finding: number; readonly sha256: string }
  // The note is what the record says of it, in the steward's language.
  | { readonly do: 'short'; readonly budgetS: number; readonly note: string }
  | { readonly do: 'refused'; readonly why: string; readonly note: string }
  | ({ readonly do: 'washed' } & LookAgain & { readonly washedAt: string })
  | { readonly do: 'override'; readonly override: Override }
  | { readonly do: 'note'; readonly note: string }
  | { readonly do: 'sealed'; readonly entry: string; readonly subject: string; readonly verdict?: Verdict }
  | { readonly do: 'reopened'; readonly why: string; readonly again?: LookAgain }
);

/** A look that begins anew: nothing that was looked at before counts for it. */
export interface LookAgain {
  readonly startedAt: string;
  /** The end of the wash that it follows, where that wash counts as one. */
  readonly washedAt?: string;
}

export type Direction = 'launching' | 'leaving' | 'other';
export type Outlet = 'plugsOut' | 'driveLowered' | 'strainerOut';
type Unstamped<T> = T extends unknown ? Omit<T, 'at'> : never;
export type NewAct = Unstamped<Act>;

/** A craft that nobody has named. */
export const noCraft: Setup = { class: 'other', drives: [''], spaces: [], gear: [] };
const isNoCraft = (s: Setup | undefined) => s?.class === 'other' && !s.drives.some(Boolean) && !s.spaces.length;

/** What a draft holds. */
export interface BoatDraft {
  readonly id: string;
  readonly kind: 'boat';
  readonly startedAt: string;
  readonly acts: readonly Act[];
}

export interface Boat {
  readonly id: string;
  readonly startedAt: string;
  readonly acts: readonly Act[];
  readonly setup?: Setup;
  readonly known: boolean; // recognised: its setup is that of the last time
  readonly direction: Direction;
  readonly mark?: Mark;
  readonly visits: readonly Visit[];
  /** Which question about the last water is open; undefined once all are answered. */
  readonly asking?: 'water' | 'out' | 'stay';
  readonly nextWater?: string;
  readonly outlets: Partial<Record<Outlet, '' | 'yes' | 'no'>>;
  readonly started: boolean;
  readonly turned: boolean;
  readonly checks: ReadonlyMap<string, Check>;
  readonly findings: readonly Finding[];
  readonly photos: readonly { readonly finding: number; readonly sha256: string }[];
  readonly budgetS?: number;
  readonly refused?: string;
  /** What the record says besides the steward's own note. */
  readonly said: { readonly refused?: string; readonly short?: string };
  readonly washedAt?: string;
  readonly override?: Override;
  readonly note: string;
  readonly sealed?: {
    readonly entry: string;
    readonly subject: string;
    readonly at: number;
    readonly verdict?: Verdict;
  };
  /** Set while a sealed boat is being corrected: what is superseded, and why. */
  readonly correcting?: { readonly entry: string; readonly subject: string; readonly why: string };
}

/** Folds the acts of a boat. */
export function boatOf(draft: BoatDraft): Boat {
  const start: Boat = {
    id: draft.id,
    startedAt: draft.startedAt,
    acts: draft.acts,
    known: false,
    direction: 'launching',
    visits: [],
    asking: 'water',
    outlets: {},
    started: false,
    turned: false,
    checks: new Map(),
    findings: [],
    photos: [],
    said: {},
    note: '',
  };
  return draft.acts.reduce(step, start);
}

function lastVisit(b: Boat, change: Partial<Visit>): Visit[] {
  const all = [...b.visits];
  all[all.length - 1] = { ...(all.at(-1) ?? { water: '' }), ...change };
  return all;
}

function step(b: Boat, act: Act): Boat {
  switch (act.do) {
    case 'craft':
      return { ...b, setup: act.setup, known: act.known ?? false };
    case 'setup':
      return { ...b, setup: act.setup };
    case 'direction':
      return { ...b, direction: act.direction };
    case 'mark':
      return { ...b, mark: act.mark };
    case 'water':
      // Without a water there is no day and no stay to ask for: unknown counts as the worst.
      return { ...b, visits: [...b.visits, { water: act.water }], asking: act.water ? 'out' : undefined };
    case 'out':
      return { ...b, visits: lastVisit(b, act.outAt ? { outAt: act.outAt } : {}), asking: 'stay' };
    case 'stay':
      return { ...b, visits: lastVisit(b, act.stay ? { stay: act.stay } : {}), asking: undefined };
    case 'another':
      return { ...b, asking: 'water' };
    case 'next':
      return { ...b, nextWater: act.water };
    case 'outlet':
      return { ...b, outlets: { ...b.outlets, [act.outlet]: act.answer } };
    case 'started':
      return { ...b, started: true };
    case 'turn':
      return { ...b, turned: !b.turned };
    case 'checks':
      return { ...b, checks: withChecks(b.checks, act.checks) };
    case 'found':
      return { ...b, findings: [...b.findings, act.finding], checks: withChecks(b.checks, [act.check]) };
    case 'unfound':
      return {
        ...b,
        findings: b.findings.filter((_, i) => i !== act.finding),
        // A photo names its find by its place in the list, and the finds after this one move up.
        photos: b.photos.flatMap((p) =>
          p.finding === act.finding ? [] : [{ ...p, finding: p.finding > act.finding ? p.finding - 1 : p.finding }],
        ),
      };
    case 'mend':
      return { ...b, findings: b.findings.map((f, i) => (i === act.finding ? { ...f, ...act.change } : f)) };
    case 'photo':
      return { ...b, photos: [...b.photos, { finding: act.finding, sha256: act.sha256 }] };
    case 'short':
      return { ...b, budgetS: act.budgetS, said: { ...b.said, short: act.note } };
    case 'refused':
      return { ...b, refused: act.why, asking: undefined, said: { ...b.said, refused: act.note } };
    case 'washed':
      return lookedAgain(b, act);
    case 'override':
      return { ...b, override: act.override };
    case 'note':
      return { ...b, note: act.note };
    case 'sealed': {
      const { correcting: _, ...rest } = b;
      return {
        ...rest,
        sealed: {
          entry: act.entry,
          subject: act.subject,
          at: act.at,
          ...(act.verdict ? { verdict: act.verdict } : {}),
        },
      };
    }
    case 'reopened': {
      if (!b.sealed) return b;
      const correcting = { entry: b.sealed.entry, subject: b.sealed.subject, why: act.why };
      const { sealed: _, override: __, ...rest } = b.refused === undefined ? b : agreed(b);
      const open: Boat = { ...rest, correcting };
      return act.again ? lookedAgain(open, act.again) : open;
    }
  }
}

/** A wash or a wait proves nothing by itself: every place is looked at again, and the clock of this look starts now. */
function lookedAgain(b: Boat, { startedAt, washedAt }: LookAgain): Boat {
  return { ...b, startedAt, checks: new Map(), ...(washedAt ? { washedAt } : {}) };
}

/** A boat whose refusal is taken back is asked and looked at like any other: from where it was, or from its picture. */
function agreed(b: Boat): Boat {
  const { refused: _, setup, ...rest } = b;
  const { refused: __, ...said } = b.said;
  return {
    ...rest,
    said,
    ...(setup && !isNoCraft(setup) ? { setup } : {}),
    ...(b.visits.length ? {} : { asking: 'water' }),
  };
}

function withChecks(old: ReadonlyMap<string, Check>, add: readonly Check[]): Map<string, Check> {
  const all = new Map(old);
  // What was found wet stays wet until somebody says otherwise for that very place.
  for (const c of add) {
    const { reason, ...now } = { ...all.get(c.place), ...c };
    // Why it could not be checked falls away once all of it was: nothing is left undone, and it is said how wet it is.
    const whole = !c.reason && c.wet && now.looked === 'yes' && now.felt !== 'no' && now.opened !== 'no';
    all.set(c.place, { ...now, ...(reason && !whole ? { reason } : {}) });
  }
  return all;
}

/** A place is settled once somebody said what was done there and how wet it is, or why it could not be checked. */
export function settled(b: Boat, place: string): boolean {
  const c = b.checks.get(place);
  return c !== undefined && (Boolean(c.wet) || Boolean(c.reason) || Boolean(c.ranDry));
}

/** The check that says: all that is asked for here was done, and it is as wet as said. */
export function done(stop: Pick<RoundStop, 'place' | 'tasks'>, wet: Wetness, seconds: number): Check {
  return {
    place: stop.place,
    looked: 'yes',
    ...(stop.tasks.includes('feel') ? { felt: 'yes' } : {}),
    ...(stop.tasks.includes('open') ? { opened: 'yes' } : {}),
    wet,
    seconds,
  };
}

/** The check that says what could not be done, and why: it never makes a verdict milder. */
export function undone(
  stop: Pick<RoundStop, 'place' | 'tasks'>,
  reason: string,
  looked: boolean,
  seconds: number,
): Check {
  return {
    place: stop.place,
    looked: looked ? 'yes' : 'no',
    ...(stop.tasks.includes('feel') ? { felt: 'no' } : {}),
    ...(stop.tasks.includes('open') && !looked ? { opened: 'no' } : {}),
    ...(looked && stop.tasks.includes('open') ? { opened: 'yes' } : {}),
    reason,
    seconds,
  };
}

/** The longest time that one check may claim, the limit of the record. */
const MOST_S = 14400;

/** Seconds since the act before, shared over so many checks: effort, timed without a stopwatch. */
export function secondsEach(b: Boat, now: number, count: number): number {
  const last = b.acts.at(-1)?.at ?? Date.parse(b.startedAt);
  const all = Math.min(Math.max((now - last) / 1000, 0), MOST_S);
  return Math.round((all / Math.max(count, 1)) * 10) / 10;
}

/** Which outlet fields a boat of these places has, in the words of the record. */
export function outletsOf(places: readonly Place[]): Outlet[] {
  const has = (test: (p: Place) => boolean) => places.some(test);
  const out: Outlet[] = [];
  if (has((p) => p.tasks.includes('lower'))) out.push('driveLowered');
  if (has((p) => p.tasks.includes('drain'))) out.push('plugsOut');
  if (has((p) => p.id.startsWith('inboard.strainer'))) out.push('strainerOut');
  return out;
}

/** Where the boat stands at the ramp. */
export interface Site {
  readonly launch: string; // subject of the launch
  readonly water: string; // subject of its water
  readonly outside: ReadonlySet<string>; // waters outside of the region
  readonly person: string;
}

/** The inspection as the record has it. */
export function inspectionOf(b: Boat, site: Site, endedAt?: string): Inspection {
  const setup = b.setup ?? noCraft;
  const known = b.visits.filter((v) => v.water !== '');
  const asked = b.visits.length > 0 || b.asking === undefined;
  const fromOutside = known.some((v) => site.outside.has(v.water));
  const fromInside = asked && known.length === b.visits.length && known.length > 0 && !fromOutside;
  return {
    id: b.id,
    launch: site.launch,
    water: site.water,
    direction: b.direction,
    steward: site.person,
    startedAt: b.startedAt,
    ...(endedAt ? { endedAt } : {}),
    setup,
    ...(b.outlets.plugsOut ? { plugsOut: b.outlets.plugsOut } : {}),
    ...(b.outlets.driveLowered ? { driveLowered: b.outlets.driveLowered } : {}),
    ...(b.outlets.strainerOut ? { strainerOut: b.outlets.strainerOut } : {}),
    ...(fromOutside ? { outOfRegion: 'yes' } : fromInside ? { outOfRegion: 'no' } : {}),
    lastWaters: b.visits.map((v) => ({ ...v })),
    ...(b.nextWater ? { nextWater: b.nextWater } : {}),
    ...(b.checks.size > 0 ? { checks: [...b.checks.values()] } : {}),
    ...(b.findings.length > 0 ? { findings: b.findings.map((f) => ({ ...f })) } : {}),
    ...(b.washedAt ? { washedAt: b.washedAt } : {}),
    ...(b.refused !== undefined ? { refused: true } : {}),
    ...(noteOf(b) ? { note: noteOf(b) } : {}),
  };
}

function noteOf(b: Boat): string {
  return [b.said.refused, b.said.short, b.note].filter(Boolean).join(' ');
}
