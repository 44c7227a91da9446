import { useEffect, useRef } from 'react';

/**
 * A page that is gone to is read from its top, as the pages of any site are. Going back is left to the browser, which knows
 * where one was; an address that points at a part of a page is left to the part.
 */
export function useTop(path: string) {
  const before = useRef(path);
  const stood = useRef(location.pathname);
  const back = useRef(false);
  useEffect(() => {
    const gone = () => {
      back.current = location.pathname !== stood.current; // not where only a filter changes
    };
    addEventListener('popstate', gone);
    return () => removeEventListener('popstate', gone);
  }, []);
  useEffect(() => {
    if (path !== before.current && !back.current && !location.hash) scrollTo(0, 0);
    before.current = path;
    stood.current = location.pathname;
    back.current = false;
  }, [path]);
}
