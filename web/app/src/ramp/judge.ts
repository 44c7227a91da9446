import type {
  Case,
  Inspection,
  Kit,
  Programme,
  Protocol,
  Ramp,
  Skill,
  WashUnit,
  Water,
  WaterBody,
} from '../engine/types.ts';
import type { Reference } from '../local/index.ts';
import { airAhead, type Weather } from './drafts.ts';

/** Asks the engine. */
export type Call = typeof import('../engine/index.ts').engine.call;

/** What the programme keeps and phones pull, as screens need it. */
export interface Books {
  readonly waters: readonly Reference<WaterBody>[];
  readonly launches: readonly Reference<Ramp>[];
  readonly units: readonly Reference<Kit>[];
  readonly protocols: readonly Reference<Protocol>[];
  readonly programme: Programme | undefined;
}

/** The protocol in force on this phone: the programme's own where it has one, else the library's that asks the most of the doubtful. */
export interface InForce {
  readonly ref: string; // id@version
  readonly whole?: Protocol;
  readonly id?: string;
  readonly madeAt?: string;
  readonly confirmed: boolean;
}

/** What judges where the programme has not chosen: the published regional minimum. */
const FALLBACK = { id: 'regional-minimum', ref: 'regional-minimum@1' };

export function inForce(books: Books): InForce {
  const chosen = books.programme?.protocol;
  const found =
    books.protocols.find((p) => `${p.body.id}@${p.body.version}` === chosen) ??
    [...books.protocols].sort((a, b) => Date.parse(b.madeAt) - Date.parse(a.madeAt))[0];
  if (!found) return { ...FALLBACK, confirmed: false };
  const { id, version, confirmed } = found.body;
  return { ref: `${id}@${version}`, whole: found.body, madeAt: found.madeAt, confirmed };
}

/** The machine at hand with the doubt of its thermometer as last calibrated; without a calibration the doubt is not known. */
export function unitOf(kit: Kit | undefined): WashUnit | undefined {
  if (!kit || kit.outOfService) return undefined;
  const last = lastCheck(kit);
  return {
    ...kit.unit,
    ...(last ? { gaugePlusMinusC: last.plusMinusC } : {}),
    ...(last?.spray ? { spray: last.spray } : {}),
  };
}

export function lastCheck(kit: Kit | undefined) {
  return [...(kit?.calibrations ?? [])].sort((a, b) => Date.parse(b.on) - Date.parse(a.on))[0];
}

/**
 * The case that the engine judges. Skill is the chance of finding of whoever looks, for risk and short rounds; without it the published
 * figures stand. No verdict hangs on it.
 */
export async function caseOf(
  call: Call,
  books: Books,
  inspection: Inspection,
  unit: WashUnit | undefined,
  weather: Weather | undefined,
  skill?: Skill,
): Promise<Case> {
  const rule = inForce(books);
  const ahead = airAhead(weather);
  const ids = new Map<string, string>();
  for (const v of inspection.lastWaters) if (v.water) ids.set(v.water, v.outAt ?? inspection.startedAt);
  if (inspection.water && !ids.has(inspection.water)) ids.set(inspection.water, inspection.startedAt);
  const waters: Water[] = [];
  for (const [id, at] of ids) {
    const body = books.waters.find((w) => w.subject === id)?.body;
    // A water that this phone does not know is unknown in all respects, which counts as the worst.
    waters.push(body ? (await call('waterAt', { id, body, at })).water : { id, name: id, status: {} });
  }
  return {
    inspection,
    waters,
    ...(rule.whole ? { protocol: rule.whole } : { protocolId: rule.id ?? FALLBACK.id }),
    ...(unit ? { unit } : {}),
    // The air is what the steward says it is now; how it was on the road nobody measured, so nothing is claimed of it.
    ...(ahead ? { ahead } : {}),
    ...(skill ? { skill } : {}),
    seed: 1,
  };
}
