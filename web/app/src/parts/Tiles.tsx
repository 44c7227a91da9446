import type { ReactNode } from 'react';
import { Icon, type IconName } from './Icon.tsx';

interface Act {
  onClick: () => void;
  children: ReactNode;
  icon?: IconName;
  disabled?: boolean;
  /** A second line in plain words. */
  sub?: ReactNode;
  pressed?: boolean;
}

function Inside({ icon, children, sub }: Pick<Act, 'icon' | 'children' | 'sub'>) {
  return (
    <>
      {icon ? <Icon name={icon} /> : null}
      <span className="tile-words">
        <span className="tile-word">{children}</span>
        {sub ? <span className="tile-sub">{sub}</span> : null}
      </span>
    </>
  );
}

/** An answer. */
export function Tile({ onClick, disabled, pressed, ...inside }: Act) {
  return (
    <button type="button" className="tile" onClick={onClick} disabled={disabled} aria-pressed={pressed}>
      <Inside {...inside} />
    </button>
  );
}

/** The main act of a screen: a hull that points onward. There is one to a screen. */
export function Go({ onClick, disabled, ...inside }: Act) {
  return (
    <button type="button" className="go" onClick={onClick} disabled={disabled}>
      <Inside {...inside} />
    </button>
  );
}

/** A quiet act in the text, still as large as a thumb. */
export function Link({ onClick, children, icon }: Act) {
  return (
    <button type="button" className="link" onClick={onClick}>
      {icon ? <Icon name={icon} size={24} /> : null}
      <span>{children}</span>
    </button>
  );
}

/** A grid of answers, as many to a row as fit. */
export function Tiles({ children, label, across = 2 }: { children: ReactNode; label?: string; across?: 1 | 2 | 3 }) {
  return (
    <div className={`tiles tiles-${across}`} {...(label ? { role: 'group', 'aria-label': label } : {})}>
      {children}
    </div>
  );
}
