/**
 * The mark: a hull in plan with its transom, so that no eye is taken for it, and its thwart. The bar across means stopped, the bar
 * drawn aside may launch, none is undecided.
 */
export type HullState = 'open' | 'across' | 'aside';

/** Draws the mark. Without a title it is an ornament and says nothing to a screen reader. */
export function Hull({ state, title }: { state: HullState; title?: string }) {
  return title ? (
    <svg className="hull" viewBox="0 0 64 26" width="64" height="26" role="img" aria-label={title}>
      <Lines state={state} />
    </svg>
  ) : (
    <svg className="hull" viewBox="0 0 64 26" width="64" height="26" aria-hidden="true">
      <Lines state={state} />
    </svg>
  );
}

function Lines({ state }: { state: HullState }) {
  return (
    <>
      <path
        d="M3 4 L38 4 C50 4 58 9 61 13 C58 17 50 22 38 22 L3 22 Z"
        fill="none"
        stroke="currentColor"
        strokeWidth="2.5"
        strokeDasharray={state === 'open' ? '5 4' : undefined}
      />
      {state === 'across' ? <path d="M28 1 V25" stroke="currentColor" strokeWidth="5" /> : null}
      {state === 'aside' ? <path d="M8 13 H26" stroke="currentColor" strokeWidth="5" /> : null}
    </>
  );
}
