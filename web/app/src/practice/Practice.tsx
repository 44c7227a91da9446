import './practice.css';
import { useCallback, useEffect, useState } from 'react';
import { practiceEngine } from '../engine/index.ts';
import type { Class, LibraryOut, Outcome, StepChosen } from '../engine/types.ts';
import { type Key, useLanguage, useSay } from '../messages/index.tsx';
import { Silhouette } from '../parts/Silhouette.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { whyOf } from '../parts/why.ts';
import { FIRST_KINDS, kindsInOrder } from '../shared/kinds.ts';
import { After } from './After.tsx';
import { Decide } from './Decide.tsx';
import { answeredIn, type DrillDraft, draftOf, resume } from './draft.ts';
import { begin, type Doing, findings, turnOf } from './drill.ts';
import { Questions } from './Questions.tsx';
import { type Form, Round } from './Round.tsx';
import type { Own, Scored, Surface } from './surface.ts';

type Where = 'home' | 'choose' | 'story' | 'round' | 'decide' | 'after' | 'questions';

/** Practice from its first page to what came of it, the same on the phone and at the desk. */
export default function Practice({ surface }: { surface: Surface }) {
  const say = useSay();
  const { Frame } = surface;
  const [where, setWhere] = useState<Where>('home');
  const [library, setLibrary] = useState<LibraryOut>();
  const [failed, setFailed] = useState<string>();
  const [form, setForm] = useState<Form>('drawn');
  const [doing, setDoing] = useState<Doing>();
  const [scored, setScored] = useState<Scored>();
  const open = useCallback(() => {
    setFailed(undefined);
    practiceEngine.call('library', {}).then(
      (found) => {
        setLibrary(found);
        surface.opened?.();
      },
      (e: unknown) => setFailed(whyOf(say, e)),
    );
  }, [surface, say]);
  useEffect(open, [open]);
  const draft = useDraft(surface, where, form, doing);
  const change = useCallback((step: (d: Doing) => Doing) => setDoing((d) => d && step(d)), []);

  const make = async (c: Class, level: number) => {
    try {
      const drill = await surface.make(c.usual, level);
      const round = await practiceEngine.call('round', { setup: drill.order.setup });
      setDoing(begin(drill, round, Date.now()));
      setScored(undefined);
      setWhere('story');
    } catch (e) {
      setFailed(whyOf(say, e));
    }
  };
  const goOn = async (kept: DrillDraft) => {
    try {
      const round = await practiceEngine.call('round', { setup: kept.doing.drill.order.setup });
      setForm(kept.shown);
      setDoing(resume(kept, round, Date.now()));
      setScored(undefined);
      setWhere(kept.where);
    } catch (e) {
      setFailed(whyOf(say, e));
    }
  };
  const hand = async (outcome: Outcome, steps: readonly StepChosen[]) => {
    if (!doing) return;
    try {
      const turn = turnOf(doing, outcome, steps, Date.now());
      const out = await surface.score(doing.drill, turn, new Date(doing.startedAt), new Date());
      setDoing({ ...doing, walk: turn.walk });
      draft.drop();
      setScored(out);
      setWhere('after');
    } catch (e) {
      setFailed(whyOf(say, e));
    }
  };

  if (failed) {
    return (
      <Frame acts={<Go onClick={open}>{say('practice.again')}</Go>}>
        <h1>{say('practice.title')}</h1>
        <p className="trouble" role="alert">
          {say('practice.failed')} {failed}
        </p>
        <Link icon="undo" onClick={surface.leave}>
          {say('practice.back')}
        </Link>
      </Frame>
    );
  }
  if (!library) {
    return (
      <Frame>
        <h1>{say('practice.title')}</h1>
        <p role="status">{say('practice.loading')}</p>
      </Frame>
    );
  }
  switch (where) {
    case 'choose':
      return <Choose {...{ surface, library, form, setForm, make }} onBack={() => setWhere('home')} />;
    case 'story':
      return doing ? (
        <Told
          {...{ surface, doing }}
          onBegin={() => {
            setDoing({ ...doing, startedAt: Date.now(), arrivedAt: Date.now() });
            setWhere('round');
          }}
          onLeave={() => {
            draft.drop();
            setDoing(undefined);
            setWhere('home');
          }}
        />
      ) : null;
    case 'round':
      return doing ? (
        <Round {...{ surface, doing, change, form }} onForm={setForm} onEnd={() => setWhere('decide')} />
      ) : null;
    case 'decide':
      return doing ? (
        <Decide
          surface={surface}
          outcomes={library.outcomes}
          places={doing.drill.places}
          found={findings(doing).length}
          onBack={() => setWhere('round')}
          onDone={hand}
        />
      ) : null;
    case 'after':
      return doing && scored ? (
        <After
          {...{ surface, doing, scored }}
          outcomes={library.outcomes}
          onAgain={() => setWhere('choose')}
          onBack={() => setWhere('home')}
        />
      ) : null;
    case 'questions':
      return <Questions surface={surface} onBack={() => setWhere('home')} />;
    default:
      return (
        <First
          {...{ surface }}
          draft={draft.kept}
          onGoOn={goOn}
          onCraft={() => setWhere('choose')}
          onQuestions={() => setWhere('questions')}
        />
      );
  }
}

/** Keeps the drill under way at every change, so that whoever is called away comes back to the same place. */
function useDraft(surface: Surface, where: Where, form: Form, doing: Doing | undefined) {
  const [kept, setKept] = useState<DrillDraft>();
  const keep = useCallback(
    (next: DrillDraft | undefined) => {
      setKept(next);
      surface.draft.keep(next).catch(() => undefined); // practice goes on; only its way back is not sure
    },
    [surface],
  );
  useEffect(() => {
    surface.draft.read().then(setKept, () => undefined);
  }, [surface]);
  useEffect(() => {
    if (doing && (where === 'story' || where === 'round' || where === 'decide')) {
      keep(draftOf(where, form, doing, Date.now()));
    }
  }, [where, form, doing, keep]);
  const drop = useCallback(() => keep(undefined), [keep]);
  return { kept, drop };
}

/** What is due this week, and the two ways to practise. */
function First({
  surface,
  draft,
  onGoOn,
  onCraft,
  onQuestions,
}: {
  surface: Surface;
  draft: DrillDraft | undefined;
  onGoOn: (draft: DrillDraft) => void;
  onCraft: () => void;
  onQuestions: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const [own, setOwn] = useState<Own>();
  useEffect(() => {
    surface.own().then(setOwn, () => undefined); // without it practice goes on; only its days are not known
  }, [surface]);
  return (
    <Frame
      at="first"
      acts={
        <>
          <Tile icon="list" sub={say('practice.questionsSub')} onClick={onQuestions}>
            {say('practice.questions')}
          </Tile>
          {draft ? (
            <>
              <Tile icon="route" sub={say('practice.otherSub')} onClick={onCraft}>
                {say('practice.other')}
              </Tile>
              <Go
                onClick={() => onGoOn(draft)}
                sub={say('practice.goOnSub', { n: answeredIn(draft), all: draft.doing.drill.places.length })}
              >
                {say('practice.goOn')}
              </Go>
            </>
          ) : (
            <Go onClick={onCraft} sub={say('practice.craftSub')}>
              {say('practice.craft')}
            </Go>
          )}
        </>
      }
    >
      <h1>{say('practice.title')}</h1>
      <p>{say('practice.lead')}</p>
      {own ? <ThisWeek own={own} /> : null}
      {own?.says?.length ? (
        <details className="details-of">
          <summary>{say('practice.field')}</summary>
          <ul>
            {own.says.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
          <p className="quiet">{say('practice.fieldLead')}</p>
        </details>
      ) : null}
      {surface.handbook ? (
        <a className="link" href={surface.handbook} download>
          {say('practice.handbook')}
        </a>
      ) : null}
    </Frame>
  );
}

function ThisWeek({ own }: { own: Own }) {
  const say = useSay();
  const language = useLanguage();
  const { week } = own;
  const dayOf = (at: string) =>
    new Intl.DateTimeFormat(language, { day: 'numeric', month: 'long' }).format(new Date(at));
  const day = week.due ? dayOf(week.due) : '';
  const asked = week.topics.filter((t) => t.dueWeek);
  const what = week.class ? say(`practice.class.${week.class}` as Key) : '';
  const due = week.dueNow ? 'practice.dueNow' : week.dueWeek ? 'practice.dueWeek' : 'practice.dueLater';
  return (
    <section className="box" aria-labelledby="this-week">
      <h2 id="this-week">{say('practice.week')}</h2>
      <p>{week.due ? say(due, { day, what }) : say('practice.never')}</p>
      {asked.length ? (
        <>
          <p>{say('practice.topicsLead')}</p>
          <ul>
            {asked.map((t) => (
              <li key={t.topic}>
                {say(t.dueNow ? 'practice.topicNow' : 'practice.topicWeek', {
                  topic: say(`practice.topic.${t.topic}` as Key),
                  day: dayOf(t.due),
                })}
              </li>
            ))}
          </ul>
        </>
      ) : null}
      {week.practise.length ? (
        <>
          <p>{say('practice.missLead')}</p>
          <ul>
            {week.practise.map((w) => (
              <li key={w.class + w.part}>
                {say('practice.miss', {
                  what: say(`practice.class.${w.class}` as Key),
                  part: say(`part.${w.part}` as Key),
                  found: w.found,
                  trials: w.trials,
                })}
              </li>
            ))}
          </ul>
          <p className="quiet">{say('practice.few')}</p>
        </>
      ) : null}
    </section>
  );
}

const levels = [1, 2, 3, 4, 5] as const;

function Choose({
  surface,
  library,
  form,
  setForm,
  make,
  onBack,
}: {
  surface: Surface;
  library: LibraryOut;
  form: Form;
  setForm: (f: Form) => void;
  make: (c: Class, level: number) => Promise<void>;
  onBack: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  const [level, setLevel] = useState<(typeof levels)[number]>(1);
  const [all, setAll] = useState(false);
  const [making, setMaking] = useState(false);
  const kinds = kindsInOrder(library.classes);
  return (
    <Frame at="choose">
      <h1>{say('choose.title')}</h1>
      <fieldset className="plain">
        <legend>{say('choose.level')}</legend>
        <div className="levels">
          {levels.map((l) => (
            <button key={l} type="button" aria-pressed={l === level} onClick={() => setLevel(l)}>
              {l}
            </button>
          ))}
        </div>
        <p>{say(`choose.level${level}`)}</p>
      </fieldset>
      <Tiles label={say('choose.form')}>
        <Tile pressed={form === 'drawn'} sub={say('choose.drawnSub')} onClick={() => setForm('drawn')}>
          {say('choose.drawn')}
        </Tile>
        <Tile pressed={form === 'list'} sub={say('choose.listSub')} onClick={() => setForm('list')}>
          {say('choose.list')}
        </Tile>
      </Tiles>
      <div className="craft">
        <Tiles>
          {(all ? kinds : kinds.slice(0, FIRST_KINDS)).map((c) => (
            <Tile
              key={c.id}
              disabled={making}
              onClick={async () => {
                setMaking(true);
                await make(c, level);
                setMaking(false);
              }}
            >
              <Silhouette craft={c.id} lengthM={c.lengthM} />
              {c.name}
            </Tile>
          ))}
        </Tiles>
      </div>
      {all ? null : (
        <Link icon="list" onClick={() => setAll(true)}>
          {say('choose.more', { n: kinds.length })}
        </Link>
      )}
      <Link icon="undo" onClick={onBack}>
        {say('practice.back')}
      </Link>
    </Frame>
  );
}

/** What the owner says, before the clock runs. */
function Told({
  surface,
  doing,
  onBegin,
  onLeave,
}: {
  surface: Surface;
  doing: Doing;
  onBegin: () => void;
  onLeave: () => void;
}) {
  const say = useSay();
  const { Frame } = surface;
  return (
    <Frame at="story" acts={<Go onClick={onBegin}>{say('drill.begin')}</Go>}>
      <h1>{say('drill.story')}</h1>
      <div className="script">
        {doing.drill.story.says.map((line) => (
          <p key={line}>{line}</p>
        ))}
      </div>
      {doing.round.round.before.map((line) => (
        <p key={line} className="caution at-hand">
          {line}
        </p>
      ))}
      <Link icon="undo" onClick={onLeave}>
        {say('drill.leave')}
      </Link>
    </Frame>
  );
}
