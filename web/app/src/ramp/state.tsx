import { createContext, type ReactNode, useCallback, useContext, useEffect, useMemo, useRef, useState } from 'react';
import { engine } from '../engine/index.ts';
import type {
  Case,
  Kit,
  LibraryOut,
  Person,
  Programme,
  Protocol,
  Ramp as RampBody,
  Skill,
  WaterBody,
} from '../engine/types.ts';
import { useReference, useStatus } from '../local/hooks.ts';
import { local, NotSaved, type Status } from '../local/index.ts';
import { type Say, useSay } from '../messages/index.tsx';
import { whyOf } from '../parts/why.ts';
import { OWN_PRACTICE } from '../sync/sync.ts';
import { type Boat, type BoatDraft, boatOf, inspectionOf, type NewAct, type Site } from './boat.ts';
import { type AnyDraft, type DoneNote, doneNote, type ShiftDraft, saidWeather, type Weather } from './drafts.ts';
import { type Books, caseOf, type InForce, inForce, unitOf } from './judge.ts';
import type { NewWashAct, WashDraft } from './washing.ts';

/** What every screen may use: what the phone holds, and the few ways to change it. */
export interface RampState {
  readonly status: Status;
  readonly books: Books;
  readonly people: readonly { readonly subject: string; readonly body: Person }[];
  readonly rule: InForce;
  readonly library: LibraryOut | undefined;
  readonly shift: ShiftDraft | undefined;
  /** What was said of the weather when the shift began. */
  readonly weather: Weather | undefined;
  readonly boats: readonly BoatDraft[];
  readonly washes: readonly WashDraft[];
  readonly dones: readonly DoneNote[];
  /** The person who holds this phone. */
  readonly me: string;
  readonly kit: { readonly subject: string; readonly body: Kit } | undefined;
  readonly launch: { readonly subject: string; readonly body: RampBody } | undefined;
  /** What could not be saved, in words; undefined once a save works again. */
  readonly unsaved: string | undefined;
  save(draft: AnyDraft): Promise<boolean>;
  drop(id: string): Promise<boolean>;
  act(boat: string, act: NewAct): Promise<boolean>;
  washAct(wash: string, act: NewWashAct): Promise<boolean>;
  /** Takes the last act of a boat or a wash back. */
  undo(id: string): Promise<boolean>;
  begin(act?: NewAct): Promise<string | undefined>;
  site(): Site;
  caseFor(boat: Boat): Promise<Case>;
  /** Inside of saving: keeps a draft and lets another go that it takes the place of. */
  keepNow(draft: AnyDraft, inPlaceOf: string): Promise<void>;
  /** Runs something that saves, in its turn; false where it could not, with the reason on the screen. Nothing inside may ask for a turn itself. */
  saving(work: () => Promise<unknown>): Promise<boolean>;
}

const Context = createContext<RampState | undefined>(undefined);

export function useRamp(): RampState {
  const s = useContext(Context);
  if (!s) throw new Error('outside of the ramp');
  return s;
}

export const call = engine.call.bind(engine);

/** Why something was not done, in the language of the screens as far as it is known. */
function wordsOf(say: Say, e: unknown): string {
  if (e instanceof NotSaved) return say(`store.${e.why}`);
  return say('trouble.failed', { why: whyOf(say, e) });
}

export function RampProvider({ children }: { children: ReactNode }) {
  const say = useSay();
  const status = useStatus();
  const books = useBooks();
  const people = useReference<Person>('person');
  const library = useLibrary();
  const skill = useOwnSkill(status);
  const [drafts, setDrafts] = useState<ReadonlyMap<string, AnyDraft>>(new Map());
  const [unsaved, setUnsaved] = useState<string>();
  const held = useRef(drafts);
  const tail = useRef<Promise<unknown>>(Promise.resolve());

  const show = useCallback((next: ReadonlyMap<string, AnyDraft>) => {
    held.current = next;
    setDrafts(next);
  }, []);

  useEffect(() => {
    if (!status.ready) return;
    show(new Map(local.loadDrafts<AnyDraft>().map((d) => [d.id, d.value])));
  }, [status.ready, show]);

  const saving = useCallback(
    async (work: () => Promise<unknown>) => {
      // One after the other: the second of two quick taps must see what the first one did.
      const turn = tail.current.then(work, work);
      tail.current = turn.catch(() => undefined);
      try {
        await turn;
        setUnsaved(undefined);
        return true;
      } catch (e) {
        setUnsaved(wordsOf(say, e));
        return false;
      }
    },
    [say],
  );

  const put = useCallback(
    async (draft: AnyDraft) => {
      await local.saveDraft(draft.id, draft);
      show(new Map(held.current).set(draft.id, draft));
    },
    [show],
  );

  const changes = useMemo(() => {
    const boat = (id: string) => held.current.get(id) as BoatDraft | undefined;
    const keepNow = async (draft: AnyDraft, inPlaceOf: string) => {
      await put(draft);
      if (local.loadDrafts().some((d) => d.id === inPlaceOf)) await local.dropDraft(inPlaceOf);
      const next = new Map(held.current);
      next.delete(inPlaceOf);
      show(next);
    };
    const stamp = <A extends object>(a: A) => ({ ...a, at: Date.now() });
    return {
      saving,
      save: (draft: AnyDraft) => saving(() => put(draft)),
      drop: (id: string) =>
        saving(async () => {
          await local.dropDraft(id);
          const next = new Map(held.current);
          next.delete(id);
          show(next);
        }),
      act: (id: string, act: NewAct) =>
        saving(async () => {
          const b = boat(id);
          if (b) await put({ ...b, acts: [...b.acts, stamp(act)] } as BoatDraft);
        }),
      washAct: (id: string, act: NewWashAct) =>
        saving(async () => {
          const w = held.current.get(id) as WashDraft | undefined;
          if (w) await put({ ...w, acts: [...w.acts, stamp(act)] } as WashDraft);
        }),
      undo: (id: string) =>
        saving(async () => {
          const d = held.current.get(id);
          if (!d || !('acts' in d)) return;
          const before = { ...d, acts: d.acts.slice(0, -1) } as AnyDraft;
          // A record that was opened again and is left as it was is no open boat any more.
          if (before.kind === 'boat' && before.acts.at(-1)?.do === 'sealed') await keepNow(doneNote(before), d.id);
          else await put(before);
        }),
      keepNow,
      begin: async (act?: NewAct) => {
        const id = local.newId();
        const draft: BoatDraft = {
          id,
          kind: 'boat',
          startedAt: isoLocal(new Date()),
          acts: act ? [stamp(act) as BoatDraft['acts'][number]] : [],
        };
        return (await saving(() => put(draft))) ? id : undefined;
      },
    };
  }, [saving, put, show]);

  const state = useMemo<RampState>(() => {
    const all = [...drafts.values()];
    const of = <D extends AnyDraft>(kind: D['kind']) => all.filter((d) => d.kind === kind) as D[];
    const shift = of<ShiftDraft>('shift')[0];
    const launch = books.launches.find((l) => l.subject === shift?.launch);
    const kit = books.units.find((u) => u.subject === shift?.unit);
    const weather = shift && saidWeather(shift).weather;
    const me = status.enrolment?.person ?? '';
    const site = (): Site => ({
      launch: shift?.launch ?? '',
      water: launch?.body.water ?? '',
      outside: new Set(books.waters.filter((w) => w.body.outside).map((w) => w.subject)),
      person: me,
    });
    return {
      ...changes,
      status,
      books,
      people,
      library,
      shift,
      weather,
      launch,
      kit,
      me,
      unsaved,
      site,
      rule: inForce(books),
      boats: of<BoatDraft>('boat'),
      washes: of<WashDraft>('wash'),
      dones: of<DoneNote>('done'),
      caseFor: (b) => caseOf(call, books, inspectionOf(b, site()), unitOf(kit?.body), weather, skill),
    };
  }, [drafts, books, people, library, skill, status, unsaved, changes]);

  return <Context value={state}>{children}</Context>;
}

function useBooks(): Books {
  const waters = useReference<WaterBody>('water');
  const launches = useReference<RampBody>('launch');
  const units = useReference<Kit>('unit');
  const protocols = useReference<Protocol>('protocol');
  const programme = useReference<Programme>('programme')[0]?.body;
  useEffect(() => {
    const list = waters.map((w) => ({
      id: w.subject,
      name: w.body.name,
      ...(w.body.also ? { also: w.body.also } : {}),
      at: w.body.centre,
    }));
    if (list.length) call('waters.load', { waters: list }).catch(() => undefined); // the search says itself that it has no list
  }, [waters]);
  return useMemo(
    () => ({ waters, launches, units, protocols, programme }),
    [waters, launches, units, protocols, programme],
  );
}

function useLibrary(): LibraryOut | undefined {
  const [library, setLibrary] = useState<LibraryOut>();
  useEffect(() => {
    call('library', {}).then(setLibrary, () => undefined);
  }, []);
  return library;
}

/** What this person finds, as the server last told it; undefined until it has, and then the published figures stand. */
function useOwnSkill({ ready, referenceAt }: Status): Skill | undefined {
  const [skill, setSkill] = useState<Skill>();
  // biome-ignore lint/correctness/useExhaustiveDependencies: fetched beside the reference records, so looked at again when they are new
  useEffect(() => {
    if (ready)
      local.recall<{ skill: Skill }>(OWN_PRACTICE).then(
        (own) => setSkill(own?.skill),
        () => undefined,
      );
  }, [ready, referenceAt]);
  return skill;
}

/** A time with the offset of the place, as records want it. */
export function isoLocal(at: Date): string {
  const off = -at.getTimezoneOffset();
  const pad = (n: number) => String(Math.trunc(Math.abs(n))).padStart(2, '0');
  const local = new Date(at.getTime() + off * 60000).toISOString().slice(0, 19);
  return off === 0 ? `${local}Z` : `${local}${off < 0 ? '-' : '+'}${pad(off / 60)}:${pad(off % 60)}`;
}

/** The boat of an id, folded; undefined where it is not on this phone. */
export function useBoat(id: string): Boat | undefined {
  const { boats, dones } = useRamp();
  const draft = boats.find((b) => b.id === id) ?? dones.find((d) => d.boat.id === id)?.boat;
  return useMemo(() => draft && boatOf(draft), [draft]);
}

/**
 * An answer of the engine, asked again when what it rests on changes. An old answer never stands for a new question, unless it is kept on
 * purpose, as the hits of a search are until the next ones come.
 */
export function useAnswer<T>(
  ask: () => Promise<T> | undefined,
  deps: readonly unknown[],
  keep = false,
): { value?: T; error?: string } {
  const say = useSay();
  const [answer, setAnswer] = useState<{ value?: T; error?: string }>({});
  useEffect(() => {
    let stale = false;
    if (!keep) setAnswer({});
    Promise.resolve(ask()).then(
      (value) => {
        if (!stale && value !== undefined) setAnswer({ value });
      },
      (e) => {
        if (!stale) setAnswer({ error: whyOf(say, e) });
      },
    );
    return () => {
      stale = true;
    };
    // biome-ignore lint/correctness/useExhaustiveDependencies: the caller names what the question rests on
  }, deps);
  return answer;
}
