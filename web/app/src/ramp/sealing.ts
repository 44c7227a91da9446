import type { Encounter, Photo, Verdict } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { type Boat, type BoatDraft, inspectionOf, type LookAgain } from './boat.ts';
import { type DoneNote, doneNote } from './drafts.ts';
import { go } from './route.ts';
import { isoLocal, type RampState } from './state.tsx';
import type { WashDraft, WashOrder } from './washing.ts';

/** How long a verdict may be taken back without a reason. */
export const UNDO_MS = 10 * 60_000;

/** The encounter as the record has it. */
export function encounterOf(ramp: RampState, boat: Boat, verdict: Verdict | undefined): Encounter {
  return {
    shift: ramp.shift?.entry ?? '',
    inspection: inspectionOf(boat, ramp.site(), isoLocal(new Date())),
    protocol: ramp.rule.ref,
    ...(verdict ? { verdict } : {}),
    ...(boat.override ? { override: boat.override } : {}),
    ...(boat.mark ? { mark: boat.mark } : {}),
  };
}

/**
 * Seals a boat with its photos: all or nothing. What was open becomes a note of the day, from which it can be taken back or corrected; the
 * record that was sealed stays as it is.
 */
export async function sealBoat(ramp: RampState, boat: Boat, verdict: Verdict | undefined): Promise<boolean> {
  return ramp.saving(async () => {
    const again = boat.correcting;
    const id = again ? local.newId() : boat.id;
    const subject = again?.subject ?? boat.id;
    const options = again
      ? { id, subject, supersedes: again.entry, why: again.why, draft: boat.id }
      : { id, draft: boat.id };
    const kept = new Map(local.photos.list().map((p) => [p.sha256, p]));
    const sealedBefore = new Set(local.records<Photo>('photo').map((r) => r.entry.body.sha256));
    const photos = boat.photos.flatMap((p) => {
      const k = kept.get(p.sha256);
      if (!k || sealedBefore.has(p.sha256)) return [];
      const body: Photo = {
        encounter: subject,
        finding: p.finding + 1,
        sha256: k.sha256,
        bytes: k.bytes,
        type: k.type,
      };
      return [{ kind: 'photo', body }];
    });
    await local.sealAll([{ kind: 'inspection', body: encounterOf(ramp, boat, verdict), options }, ...photos]);
    const sealed = { do: 'sealed', at: Date.now(), entry: id, subject, ...(verdict ? { verdict } : {}) } as const;
    const note = doneNote({
      id: boat.id,
      kind: 'boat',
      startedAt: draftStart(ramp, boat.id) ?? boat.startedAt,
      acts: [...boat.acts, sealed],
    });
    await ramp.keepNow(note, boat.id);
  });
}

function draftStart(ramp: RampState, id: string): string | undefined {
  return ramp.boats.find((b) => b.id === id)?.startedAt;
}

/** Opens a sealed boat again: what comes of it is a correction of its record, with the reason. A look again begins in the same act, so that
 * nothing can take it back and leave the reason standing over the look before. */
export async function reopen(ramp: RampState, note: DoneNote, why: string, again?: LookAgain): Promise<boolean> {
  const act = { do: 'reopened', why, at: Date.now(), ...(again ? { again } : {}) } as const;
  const draft: BoatDraft = { ...note.boat, acts: [...note.boat.acts, act] };
  return ramp.saving(async () => {
    await ramp.keepNow(draft, note.id);
  });
}

/** Begins the wash of an order with the machine at hand, and goes to it once it is kept. */
export async function beginWash(ramp: RampState, order: WashOrder): Promise<void> {
  const wash: WashDraft = {
    id: local.newId(),
    kind: 'wash',
    order,
    kit: ramp.shift?.unit ?? '',
    startedAt: isoLocal(new Date()),
    acts: [],
  };
  if (await ramp.save(wash)) go('wash', wash.id);
}
