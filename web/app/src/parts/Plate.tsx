import type { ReactNode } from 'react';

/** The five outcomes and the one that is none. */
export type PlateKind = 'launch' | 'fix_here' | 'wash' | 'dry' | 'hold' | 'open';

export const plateKind = (outcome: string): PlateKind =>
  outcome === 'launch' || outcome === 'fix_here' || outcome === 'wash' || outcome === 'dry' || outcome === 'hold'
    ? outcome
    : 'open';

const hull = 'M6 14 H54 C74 14 88 24 94 32 C88 40 74 50 54 50 H6 Z';

/** The glyph of each plate: a hull in plan, with its bar across or aside and what has to happen. */
const glyphs: Record<PlateKind, { bars: string; sign: string }> = {
  launch: { bars: 'M16 58 H52', sign: '' },
  fix_here: {
    bars: 'M40 8 V56',
    sign: 'M114 56 V36 L107 28 M114 36 V16 M122 32 V11 M130 32 V13 M138 34 V19 M138 34 C138 48 135 56 126 56 H114',
  },
  wash: { bars: 'M40 8 V56', sign: 'M106 25 H118 V39 H106 M118 32 H124 M130 32 H148 M130 22 L146 12 M130 42 L146 52' },
  dry: {
    bars: 'M40 8 V56',
    sign: 'M112 32 A14 14 0 1 0 140 32 A14 14 0 1 0 112 32 M126 23 V32 L133 36 M126 10 V13 M126 51 V54 M104 32 H107 M145 32 H148 M110 16 L112 18 M140 46 L142 48 M142 16 L140 18 M112 46 L110 48',
  },
  hold: { bars: 'M34 4 V60 M54 4 V60', sign: '' },
  open: { bars: '', sign: '' },
};

export function PlateGlyph({ kind }: { kind: PlateKind }) {
  const g = glyphs[kind];
  return (
    <svg className="plate-glyph" viewBox="0 0 150 64" aria-hidden="true">
      <path
        d={hull}
        fill="none"
        stroke="currentColor"
        strokeWidth="4"
        strokeDasharray={kind === 'open' ? '8 6' : undefined}
      />
      {g.bars ? <path d={g.bars} fill="none" stroke="currentColor" strokeWidth="7" /> : null}
      {g.sign ? <path d={g.sign} fill="none" stroke="currentColor" strokeWidth="3.5" strokeLinecap="square" /> : null}
    </svg>
  );
}

/**
 * The verdict plate: a word that is read at arm's length, a glyph and an edge pattern, so that none of it hangs on colour. What follows
 * the word stands in normal size on the plate.
 */
export function Plate({
  kind,
  word,
  children,
  level = 1,
}: {
  kind: PlateKind;
  word: string;
  children?: ReactNode;
  level?: 1 | 2;
}) {
  const Word = level === 1 ? 'h1' : 'h2';
  return (
    <section className={`plate plate-${kind}`}>
      <div className="plate-edge" aria-hidden="true" />
      <div className="plate-body">
        <PlateGlyph kind={kind} />
        <Word className="plate-word">{word}</Word>
        {children}
      </div>
    </section>
  );
}
