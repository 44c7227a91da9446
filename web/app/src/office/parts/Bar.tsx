/** A number with its limits on a scale from 0 to top: a dot and a line, with the numbers beside it in words. */
export function Bar({ lo, mid, hi, top, words }: { lo: number; mid: number; hi: number; top: number; words: string }) {
  const x = (v: number) => 4 + (Math.max(0, Math.min(v, top)) / (top || 1)) * 152;
  return (
    <svg className="bar" viewBox="0 0 160 20" width="160" height="20" role="img" aria-label={words}>
      <path d="M4 10 H156" className="axis" />
      <path d={`M${x(lo)} 10 H${x(hi)}`} className="line" />
      <circle cx={x(mid)} cy="10" r="4.5" />
    </svg>
  );
}
