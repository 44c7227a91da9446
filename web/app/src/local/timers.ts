/** What two clocks read at one moment. Session tells one life of the page from the next: the monotonic clock starts anew. */
export interface Reading {
  /** Milliseconds since 1970. */
  readonly wallMs: number;
  /** Milliseconds of a clock that never jumps; comparable within one session only. */
  readonly monoMs: number;
  readonly session: string;
  /** The page was hidden since the last reading, so the phone may have slept. */
  readonly wasHidden: boolean;
}

/** A timer that survives a locked screen, a killed app and a wrong clock. */
export interface Timer {
  readonly id: string;
  /** What the caller wants to find again, such as the wash step. */
  readonly about?: unknown;
  readonly startedAt: string;
  readonly running: boolean;
  /** Milliseconds counted up to the last reading. */
  readonly countedMs: number;
  readonly last: Reading;
  /** The phone slept or the app was closed while it ran; that time was taken from the wall clock. */
  readonly byWallClock?: boolean;
  /** The wall clock was moved while it ran; that move was not counted. */
  readonly clockMoved?: boolean;
}

/** How far two clocks may drift between two readings before it counts as a jump. */
const JUMP_MS = 1500;
/** Longer than any wash or drain: a gap this long is a phone that was put away, not a timer that ran. */
const LONGEST_GAP_MS = 12 * 3_600_000;

/**
 * Carries a timer forward to a reading. While the page lives and is seen, the monotonic clock counts and a moved wall clock
 * does not matter. Where the phone slept or the app was closed only the wall clock knows; a step back or an impossible gap
 * counts nothing, because a time that is not known must never make a wash look longer than it was.
 */
export function advance(timer: Timer, now: Reading): Timer {
  if (!timer.running) return { ...timer, last: now };
  const wall = now.wallMs - timer.last.wallMs;
  const mono = now.monoMs - timer.last.monoMs;
  const sameSession = now.session === timer.last.session;
  const plausibleWall = wall >= 0 && wall <= LONGEST_GAP_MS;
  if (sameSession && Math.abs(wall - mono) <= JUMP_MS) {
    return { ...timer, countedMs: timer.countedMs + Math.max(mono, 0), last: now };
  }
  if (sameSession && !(now.wasHidden && wall > mono && plausibleWall)) {
    return { ...timer, countedMs: timer.countedMs + Math.max(mono, 0), last: now, clockMoved: true };
  }
  if (plausibleWall) return { ...timer, countedMs: timer.countedMs + wall, last: now, byWallClock: true };
  return { ...timer, last: now, clockMoved: true };
}

/** Milliseconds counted up to a reading. */
export function elapsedMs(timer: Timer, now: Reading): number {
  return advance(timer, now).countedMs;
}
