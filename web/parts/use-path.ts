/** The address as a hook: where one is, how to go on, and the page of a newer program where there is one. */
import { useCallback, useEffect, useMemo, useRef, useState } from "preact/hooks";
import { pageReloader } from "./reload.ts";
import { isElsewhere, pathOfClick } from "./router.ts";

/** To another page; `instead` of this one in the browser's history. */
export type Go = (path: string, how?: "instead") => void;

export interface Way {
  path: string;
  /** What stands after it, such as "?car=7". */
  search: string;
  go: Go;
  /** Hears whether the server has newer pages. Nothing half entered is lost to them: they come with the next step, or on the list. */
  outdated(isOutdated: boolean): void;
}

export function usePath(): Way {
  const read = () => ({ path: location.pathname, search: location.search });
  const [here, setHere] = useState(read);
  const isOutdated = useRef(false);
  const reloading = useMemo(pageReloader, []);
  const go = useCallback<Go>((path, how) => {
    const { pathname } = new URL(path, location.href);
    if (isOutdated.current || isElsewhere(pathname, location.pathname)) {
      if (how === undefined) location.assign(path);
      else location.replace(path);
      return;
    }
    if (how === undefined) history.pushState(null, "", path);
    else history.replaceState(null, "", path);
    setHere(read());
    scrollTo(0, 0);
  }, []);
  useEffect(() => {
    const follow = () => setHere(read());
    const onClick = (event: MouseEvent) => {
      const path = pathOfClick(event);
      if (path === null) return;
      event.preventDefault();
      go(path);
    };
    addEventListener("popstate", follow);
    document.addEventListener("click", onClick);
    return () => {
      removeEventListener("popstate", follow);
      document.removeEventListener("click", onClick);
      reloading.stop();
    };
  }, [go, reloading]);
  const outdated = useCallback(
    (isNow: boolean) => {
      isOutdated.current = isNow;
      if (!isNow || location.pathname === "/") reloading.outdated(isNow);
    },
    [reloading],
  );
  return { ...here, go, outdated };
}
