import { type PointerEvent, type ReactNode, useEffect, useState } from 'react';
import { practiceEngine } from '../engine/index.ts';
import type { Picture as Drawn, RoundOut, Setup } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Picture } from '../parts/Picture.tsx';

export const views = ['plan', 'side', 'under'] as const;
export type View = (typeof views)[number];

interface Shown {
  setup: Setup;
  round: RoundOut;
  view: View;
  done: readonly string[];
  found: readonly string[];
  now?: string;
}

/** Wide where there is room, so that marks are large enough to see on a phone. */
const widthNow = () => (innerWidth < 700 ? 400 : 720);

/** The craft as the engine draws it from one side, its places marked. The last drawing stays until the next one is there. */
export function useDrawing({ setup, round, view, done, found, now }: Shown): Drawn | undefined {
  const [drawn, setDrawn] = useState<Drawn>();
  const key = JSON.stringify([setup, view, done, found, now]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key holds all that the drawing rests on
  useEffect(() => {
    let stale = false;
    const options = {
      view,
      width: widthNow(),
      across: true,
      placesOnly: true,
      round: round.round,
      done: [...done],
      found: [...found],
      ...(now ? { now } : {}),
    };
    practiceEngine.call('draw.craft', { setup, options, id: 'practice-' }).then(
      (p) => {
        if (!stale) setDrawn(p);
      },
      () => undefined, // the list says the same in words
    );
    return () => {
      stale = true;
    };
  }, [key]);
  return drawn;
}

/** How near a tap has to be to a place, in widths of the drawing. */
const NEAR = 0.08;

/** The drawing. A tap goes to the nearest place; the buttons and the list below do the same without it. */
export function CraftPicture({
  drawn,
  onPlace,
  children,
}: {
  drawn: Drawn | undefined;
  onPlace?: (place: string) => void;
  children?: ReactNode;
}) {
  if (!drawn) return <div className="craft-picture craft-picture-open" />;
  const tap = (e: PointerEvent<HTMLDivElement>) => {
    const box = e.currentTarget.getBoundingClientRect();
    const x = ((e.clientX - box.left) / box.width) * drawn.width;
    const y = ((e.clientY - box.top) / box.height) * drawn.height;
    let best: { place: string; off: number } | undefined;
    for (const [place, at] of Object.entries(drawn.at ?? {})) {
      const off = Math.hypot(at[0] - x, at[1] - y);
      if (!best || off < best.off) best = { place, off };
    }
    if (best && best.off < NEAR * drawn.width) onPlace?.(best.place);
  };
  return (
    <div className="craft-picture" onPointerUp={onPlace ? tap : undefined}>
      <Picture picture={drawn} />
      {children ? (
        <svg viewBox={`0 0 ${drawn.width} ${drawn.height}`} aria-hidden="true">
          {children}
        </svg>
      ) : null}
    </div>
  );
}

/** From where the craft is seen. */
export function Views({ view, onView }: { view: View; onView: (v: View) => void }) {
  const say = useSay();
  return (
    <fieldset className="seen-from">
      <legend className="hidden-words">{say('drill.view')}</legend>
      {views.map((v) => (
        <button key={v} type="button" aria-pressed={v === view} onClick={() => onView(v)}>
          {say(`drill.view.${v}`)}
        </button>
      ))}
    </fieldset>
  );
}
