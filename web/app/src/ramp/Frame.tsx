import { type MouseEvent, type ReactNode, type TouchEvent, useEffect, useRef, useState } from 'react';
import { useSay } from '../messages/index.tsx';
import { Icon } from '../parts/Icon.tsx';
import { go, useRoute } from './route.ts';
import { useRamp } from './state.tsx';

export interface FrameProps {
  children: ReactNode;
  /** Answers and the main act, in the lower third. */
  acts?: ReactNode;
  /** Pieces of the border: how far the walk has come. */
  neat?: readonly ('open' | 'here' | 'done')[];
  /** The boat or wash whose last act the undo takes back. */
  undo?: string | undefined;
  /** Where an answer is half given, the undo takes back no answer kept before: it leaves the half one. */
  leave?: (() => void) | undefined;
  /** Changes when the screen shows another thing, so that focus and scroll start at its top. */
  at?: string;
}

/** The app's first screen leaves the focus where it is; every later one takes it, whichever screen it follows. */
let begun = false;

/** Every screen: the edge that says where the records are, the work, the answers, and the bar that is always the same. */
export function Frame({ children, acts, neat, undo, leave, at }: FrameProps) {
  const say = useSay();
  const work = useRef<HTMLElement>(null);
  const { where, id, sheet } = useRoute();
  const place = `${where}/${id}/${sheet}/${at ?? ''}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: focus moves when the place changes, and only then
  useEffect(() => {
    work.current?.scrollTo(0, 0);
    if (begun) work.current?.focus({ preventScroll: true });
    begun = true;
  }, [place]);
  // What had the focus may be gone from the screen after an answer; whoever uses keys then goes on from the top of the same screen.
  useEffect(() => {
    if (document.activeElement === document.body) work.current?.focus({ preventScroll: true });
  });
  const hands = useHands();
  return (
    <div className="frame" {...hands.handlers}>
      <Edge neat={neat} />
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so a keyboard has to reach it (WCAG 2.1.1) */}
      <main className="work" ref={work} tabIndex={0}>
        <Trouble wet={hands.wet} />
        {children}
      </main>
      <section className="acts" aria-label={say('acts.label')}>
        {acts}
      </section>
      <Bar undo={undo} leave={leave} say={say} />
    </div>
  );
}

/** A second tap at one spot within this time is the same tap bouncing: the screen under it has changed by then. */
const BOUNCE_MS = 300;
const BOUNCE_PX = 24;
/** After a touch in three places at once, nothing is taken for this long. */
const WET_MS = 800;

/** Rain and wet fingers touch in several places at once: such a touch does nothing, and neither does the second tap of two at one spot. */
function useHands() {
  const [wet, setWet] = useState(false);
  const wetUntil = useRef(0);
  const last = useRef({ at: 0, x: 0, y: 0 });
  const handlers = {
    onTouchStart: (e: TouchEvent) => {
      if (e.touches.length < 3) return;
      wetUntil.current = Date.now() + WET_MS;
      setWet(true);
      setTimeout(() => setWet(false), 6000);
    },
    onClickCapture: (e: MouseEvent) => {
      const now = Date.now();
      const { at, x, y } = last.current;
      const byHand = e.clientX !== 0 || e.clientY !== 0; // a key press has no place
      const bounced = byHand && now - at < BOUNCE_MS && Math.hypot(e.clientX - x, e.clientY - y) < BOUNCE_PX;
      const quick = (e.target as Element).closest?.('[data-quick]');
      last.current = { at: now, x: e.clientX, y: e.clientY };
      if (now < wetUntil.current || (bounced && !quick)) {
        e.stopPropagation();
        e.preventDefault();
      }
    },
  };
  return { wet, handlers };
}

function Edge({ neat }: { neat: FrameProps['neat'] }) {
  const say = useSay();
  const { status, launch } = useRamp();
  return (
    <header className="edge">
      <span>{launch?.body.name ?? say('edge.noShift')}</span>
      <p className="edge-counts" role="status">
        <span>{say('edge.onPhone', { n: status.onPhone })}</span>
        <span>{say('edge.sent', { n: status.sent })}</span>
        {status.needsYou > 0 ? <span className="needs">{say('edge.needsYou', { n: status.needsYou })}</span> : null}
      </p>
      {neat ? (
        <div className="neatline" aria-hidden="true">
          {neat.map((s, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: the pieces stand in the order of the walk and never move
            <i key={i} className={s} />
          ))}
        </div>
      ) : null}
    </header>
  );
}

function Trouble({ wet }: { wet: boolean }) {
  const say = useSay();
  const { status, unsaved } = useRamp();
  const words = unsaved ?? (status.trouble && say(`store.${status.trouble.why}`));
  return (
    <div role="alert" className={words || wet || status.readOnly ? '' : 'hidden-words'}>
      {words ? <p className="trouble">{words}</p> : null}
      {status.readOnly && !words ? <p className="trouble">{say('trouble.readOnly')}</p> : null}
      {wet ? <p className="trouble">{say('trouble.wipe')}</p> : null}
    </div>
  );
}

function Bar({
  undo,
  leave,
  say,
}: {
  undo: string | undefined;
  leave: (() => void) | undefined;
  say: ReturnType<typeof useSay>;
}) {
  const ramp = useRamp();
  const { where } = useRoute();
  const open = ramp.boats.length + ramp.washes.length;
  const draft = undo ? [...ramp.boats, ...ramp.washes].find((d) => d.id === undo) : undefined;
  return (
    <nav className="bar" aria-label={say('bar.label')}>
      <button
        type="button"
        disabled={!leave && (!draft || draft.acts.length === 0)}
        onClick={() => (leave ? leave() : undo && ramp.undo(undo))}
      >
        <Icon name="undo" size={28} />
        {say('bar.undo')}
      </button>
      <button type="button" aria-current={where === 'home' ? 'page' : undefined} onClick={() => go('home')}>
        <Icon name="boats" size={28} />
        {say('bar.boats', { n: open })}
      </button>
      <button type="button" aria-current={where === 'help' ? 'page' : undefined} onClick={() => go('help')}>
        <Icon name="call" size={28} />
        {say('bar.help')}
      </button>
    </nav>
  );
}
