import { useSay } from '../messages/index.tsx';

/** After the first time a small mark stands where the hand is, and opens the words again. */
export function StandingMark({ onRead }: { onRead?: () => void }) {
  const say = useSay();
  const inside = (
    <>
      <Warning /> {say('wash.standing')}
    </>
  );
  return onRead ? (
    <button type="button" className="standing" onClick={onRead}>
      {inside}
    </button>
  ) : (
    <p className="standing">{inside}</p>
  );
}

export function Warning() {
  return (
    <svg viewBox="0 0 32 32" width="32" height="32" aria-hidden="true">
      <path d="M16 3 L30 28 H2 Z M16 11 V20 M16 23 V25" fill="none" stroke="currentColor" strokeWidth="2.5" />
    </svg>
  );
}
