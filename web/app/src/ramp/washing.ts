import type { Case, Probe, Setup, Step, Treatment, WashClaim, WashDone, WashStepDone } from '../engine/types.ts';
import { local } from '../local/index.ts';

/** What a technician needs of a boat: nothing of the boater, nothing of the questions. It is what travels from phone to phone. */
export interface WashOrder {
  readonly encounter: string; // subject of the inspection
  readonly craft: string;
  readonly lengthM: number;
  readonly risk: 'low' | 'high';
  readonly organisms: readonly string[];
  readonly treatment: Treatment;
  /** The case the order was worked out from, so that it can be worked out again when the machine gives less. */
  readonly cs: Case;
  /** The sum of the order as another phone asked for it; the word back that it is done names it. */
  readonly sum?: string;
}

/** The order a craft is owed, as the technician needs it. */
export function orderOf(setup: Setup, treatment: Treatment, atRisk: boolean, cs: Case, encounter: string): WashOrder {
  const organisms = new Set(treatment.steps.flatMap((s) => (s.species ?? []).map((n) => n.organism)));
  return {
    encounter,
    craft: setup.class,
    lengthM: setup.lengthM ?? 0,
    risk: atRisk ? 'high' : 'low',
    organisms: [...organisms],
    treatment,
    cs,
  };
}

export type WashAct = { readonly at: number } & (
  | { readonly do: 'cautioned' } // the cautions of the step were read in full
  | { readonly do: 'claim'; readonly step: number; readonly claim: Partial<WashClaim> }
  | { readonly do: 'reading'; readonly step: number; readonly probe: Probe }
  | { readonly do: 'log'; readonly step: number; readonly probes: readonly (readonly Probe[])[]; readonly name: string }
  | {
      readonly do: 'end';
      readonly step: number;
      readonly outcome: StepOutcome;
      readonly why?: string;
      readonly approvals?: readonly string[];
    }
);
export type StepOutcome = 'done' | 'met' | 'short' | 'not_possible' | 'not_needed' | 'alternative';
type Unstamped<T> = T extends unknown ? Omit<T, 'at'> : never;
export type NewWashAct = Unstamped<WashAct>;

export interface WashDraft {
  readonly id: string;
  readonly kind: 'wash';
  readonly order: WashOrder;
  readonly kit: string; // subject of the wash unit; '' = not chosen
  readonly startedAt: string;
  readonly acts: readonly WashAct[];
}

/** One step as it stands. */
export interface StepState {
  readonly step: Step;
  readonly claim: Partial<WashClaim>;
  readonly probes: readonly (readonly Probe[])[];
  readonly logName?: string;
  readonly outcome?: StepOutcome;
  readonly why?: string;
  readonly approvals?: readonly string[];
}

/** Steps that need heat held for a time; the others are done or not. */
export const heated = (s: Step) => (s.contactS ?? 0) > 0 || (s.targetC ?? 0) > 0;

/**
 * Looks at places that were not settled, and at all of them after the wash. They are no steps of a wash and nobody ticks them off: a look is
 * a round of its own, with every place answered and whoever looked named, on the boat's own record.
 */
const isLook = (s: Step) => s.kind === 'look' || s.kind === 'look_again';
export const looksOf = (d: WashDraft): Step[] => d.order.treatment.steps.filter(isLook);

/** The clock of a step's log: it starts with the first reading and never stops. */
export const logTimer = (wash: string, step: number) => `${wash}/step-${step}`;

export function stepsOf(d: WashDraft): StepState[] {
  const steps = d.order.treatment.steps.filter((s) => !isLook(s));
  return steps.map((step) => {
    let s: StepState = { step, claim: {}, probes: [] };
    for (const a of d.acts) {
      if (a.do === 'cautioned' || a.step !== step.n) continue;
      if (a.do === 'claim') s = { ...s, claim: { ...s.claim, ...a.claim } };
      else if (a.do === 'reading') s = { ...s, probes: [[...(s.probes[0] ?? []), a.probe]] };
      else if (a.do === 'log') s = { ...s, probes: a.probes, logName: a.name };
      else
        s = {
          ...s,
          outcome: a.outcome,
          ...(a.why ? { why: a.why } : {}),
          ...(a.approvals ? { approvals: a.approvals } : {}),
        };
    }
    return s;
  });
}

/** Whether the cautions were read in full on this wash. */
export const cautioned = (d: WashDraft) => d.acts.some((a) => a.do === 'cautioned');

/** Whether nothing but reading was done on this wash: then leaving it leaves nothing out. */
export const untouched = (d: WashDraft) => d.acts.every((a) => a.do === 'cautioned');

/** What is claimed of a step: how and where it was measured, as the step asks unless the technician said otherwise. */
export function claimOf(d: WashDraft, s: StepState, plusMinusC: number | undefined): WashClaim {
  return {
    part: s.step.part ?? 'hull',
    risk: d.order.risk,
    ...(s.step.method ? { method: s.step.method } : {}),
    ...(plusMinusC !== undefined ? { plusMinusC } : {}),
    ...(d.order.organisms.length ? { organisms: [...d.order.organisms] } : {}),
    ...s.claim,
  };
}

/** The wash as the record has it: its heated steps, each with its readings and how it ended. */
export function washDone(
  d: WashDraft,
  claims: (s: StepState) => WashClaim,
  people: readonly string[],
  endedAt: string,
): WashDone {
  const steps: WashStepDone[] = [];
  for (const s of stepsOf(d)) {
    if (!heated(s.step) || !s.step.part) continue;
    const outcome = s.outcome === 'done' || s.outcome === undefined ? 'short' : s.outcome;
    steps.push({
      claim: claims(s),
      ...(s.probes.length ? { probes: s.probes.map((p) => [...p]) } : {}),
      outcome,
      ...(s.why ? { why: s.why } : outcome === 'short' ? { why: 'not done' } : {}),
      ...(s.approvals ? { approvals: [...s.approvals] } : {}),
    });
  }
  return { encounter: d.order.encounter, kit: d.kit, people: [...people], startedAt: d.startedAt, endedAt, steps };
}

/** The latest wash of an inspection on record here. */
export function lastWash(encounter: string): WashDone | undefined {
  return local
    .records<WashDone>('wash')
    .filter((r) => r.entry.body.encounter === encounter)
    .at(-1)?.entry.body;
}

/** What every screen of a step is given. */
export interface StepProps {
  wash: WashDraft;
  state: StepState;
  claim: WashClaim;
  onNext: () => void;
}

export function protocolIn(rule: { whole?: unknown; id?: string }) {
  return (rule.whole ? { protocol: rule.whole } : { protocolId: rule.id ?? '' }) as { protocolId: string };
}
