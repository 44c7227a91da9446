/** Seconds held against seconds needed: a ring that fills, with what runs since the last reading drawn open because it is not proven yet. */
export function Held({ heldS, sinceS, needS, state }: { heldS: number; sinceS: number; needS: number; state: string }) {
  const r = 44;
  const round = 2 * Math.PI * r;
  const share = (s: number) => (needS > 0 ? Math.min(1, s / needS) : state === 'met' ? 1 : 0);
  const held = state === 'met' ? 1 : share(heldS);
  const open = Math.max(0, Math.min(1 - held, share(sinceS)));
  return (
    <svg viewBox="0 0 110 110" width="110" height="110" className="held" aria-hidden="true">
      <circle cx="55" cy="55" r={r} className="held-track" />
      <circle
        cx="55"
        cy="55"
        r={r}
        className="held-done"
        strokeDasharray={`${held * round} ${round}`}
        transform="rotate(-90 55 55)"
      />
      <circle
        cx="55"
        cy="55"
        r={r}
        className="held-open"
        strokeDasharray={`${open * round} ${round}`}
        transform={`rotate(${-90 + held * 360} 55 55)`}
      />
      {/* Met is a bar drawn aside, not yet is a bar across: shape before colour. */}
      <path
        d={
          state === 'met' ? 'M38 55 H72' : state === 'running' ? 'M55 38 V60 M55 66 V72' : 'M38 38 L72 72 M72 38 L38 72'
        }
        className="held-sign"
      />
    </svg>
  );
}

/** A thermometer lying down: the target, the reading, and the reading's own doubt as a band. Only the low end of the band counts. */
export function Thermometer({
  readC,
  plusMinusC,
  targetC,
  write,
  label,
}: {
  readC: number | undefined;
  plusMinusC: number | undefined;
  targetC: number;
  write: (c: number) => string;
  label: string;
}) {
  const lo = Math.min(targetC - 15, (readC ?? targetC) - 5);
  const hi = Math.max(targetC + 10, (readC ?? targetC) + 5);
  const toX = (c: number) => 8 + ((c - lo) / (hi - lo)) * 304;
  const doubt = plusMinusC ?? 0;
  return (
    <svg viewBox="0 0 320 74" className="thermo" role="img" aria-label={label}>
      <path d="M8 40 H312" className="thermo-line" />
      {Array.from({ length: Math.ceil(hi - lo) }, (_, i) => Math.ceil(lo) + i).map((c) => (
        <path key={c} d={`M${toX(c)} 40 V${c % 5 === 0 ? 50 : 45}`} className="thermo-tick" />
      ))}
      <path d={`M${toX(targetC)} 14 V56`} className="thermo-target" />
      <text x={toX(targetC)} y="70" textAnchor="middle">
        {write(targetC)}
      </text>
      {readC === undefined ? null : (
        <>
          <rect
            x={toX(readC - doubt)}
            y="29"
            width={Math.max(3, toX(readC + doubt) - toX(readC - doubt))}
            height="22"
            className="thermo-doubt"
          />
          <path d={`M${toX(readC)} 25 V55`} className="thermo-read" />
          <text x={Math.min(292, Math.max(28, toX(readC)))} y="16" textAnchor="middle">
            {write(readC)}
          </text>
        </>
      )}
    </svg>
  );
}
