import { useState } from 'react';

/**
 * A text that is being typed. It is kept in this window under the key until it is empty again, so that neither another page nor a
 * reload loses it. found: it was there when the page was opened, and nobody has touched it since.
 */
export function useDraft(key: string): { text: string; found: boolean; set: (text: string) => void } {
  const [typed, setTyped] = useState<{ key: string; text: string }>();
  const touched = typed?.key === key ? typed.text : undefined;
  const text = touched ?? sessionStorage.getItem(key) ?? '';
  const set = (next: string) => {
    if (next) sessionStorage.setItem(key, next);
    else sessionStorage.removeItem(key);
    setTyped({ key, text: next });
  };
  return { text, found: touched === undefined && text !== '', set };
}
