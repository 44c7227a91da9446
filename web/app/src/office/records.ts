/** What the office reads of records. The server checks them; here only what is shown is named, and everything may be absent. */
export interface Check {
  place: string;
  looked?: string;
  felt?: string;
  opened?: string;
  wet?: string;
  reason?: string;
  seconds?: number;
}

export interface Finding {
  place: string;
  matter?: string;
  organism?: string;
  amount?: string;
  vitality?: string;
  removed?: string;
  volumeL?: number;
  confidence?: string;
}

export interface Reason {
  code: string;
  outcome: string;
  standard?: string;
  place?: string;
  text: string;
  source?: string;
}

export interface Verdict {
  outcome: string;
  now: string;
  standards?: { standard: string; met: string; required?: boolean }[];
  reasons?: Reason[];
  places?: number;
  settled?: number;
}

export interface Inspection {
  launch?: string;
  water?: string;
  direction?: string;
  steward?: string;
  startedAt: string;
  endedAt?: string;
  setup?: Setup;
  lastWaters?: { water: string; outAt?: string; stay?: string }[];
  nextWater?: string;
  checks?: Check[];
  others?: Check;
  findings?: Finding[];
  plugsOut?: string;
  driveLowered?: string;
  refused?: boolean;
  note?: string;
}

export interface Setup {
  class?: string;
  lengthM?: number;
  drives?: unknown[];
  spaces?: { kind: string; count?: number }[];
  trailer?: string;
}

export interface Encounter {
  shift: string;
  protocol: string;
  inspection: Inspection;
  verdict?: Verdict;
  override?: { outcome: string; by: string; second?: string; why: string };
  mark?: { hash: string; prefix?: string };
  sheet?: string;
  test?: boolean;
}

export interface Probe {
  atS: number;
  tempC: number;
}

export interface WashStep {
  claim: { part: string; method?: string; measured?: string; plusMinusC?: number };
  outcome: string;
  why?: string;
  probes?: Probe[][];
}

export interface WashDone {
  kit: string;
  startedAt: string;
  endedAt: string;
  waterL?: number;
  fuelL?: number;
  steps?: WashStep[];
}

/** A word of a vocabulary as people read it: its underscores are spaces, its dots say where. */
export function plain(word: string | undefined): string {
  return (word ?? '').replaceAll('_', ' ').replaceAll('.', ', ');
}
