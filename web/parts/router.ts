/** The pages' addresses by the History API: no address is changed without the page that stands there. */

/** The parts of `path` that stand where `pattern` has `:names`, decoded; null where it is another address. */
export function matched(pattern: string, path: string): Record<string, string> | null {
  const wanted = pattern.split("/");
  const given = path.split("/");
  if (given.length > wanted.length && given.at(-1) === "") given.pop();
  if (wanted.length !== given.length) return null;
  const found: Record<string, string> = {};
  for (const [index, part] of wanted.entries()) {
    const value = given[index] ?? "";
    if (part.startsWith(":")) {
      const name = decoded(value);
      if (name === null || name === "") return null;
      found[part.slice(1)] = name;
    } else if (part !== value) return null;
  }
  return found;
}

function decoded(part: string): string | null {
  try {
    return decodeURIComponent(part);
  } catch {
    return null;
  }
}

/** Only an address within these pages, never one that leads elsewhere; `/` instead. */
export function ownPath(asked: string | null): string {
  return asked !== null && /^\/(?![/\\])/.test(asked) ? asked : "/";
}

/** The desk's pages: the phone's are all others that a person opens. */
export function isDeskPath(path: string): boolean {
  return /^\/(log|sheets|predictions|sensors|shops)(\/|$)/.test(path);
}

/** Another document than the one with `path`: a wall, an answer of the API, or the pages of the other kind. */
export function isElsewhere(path: string, from: string): boolean {
  return /^\/(wall|api|assets)(\/|$)/.test(path) || isDeskPath(path) !== isDeskPath(from);
}

/** Where a tap on a link leads within these pages; null when it is the browser's to follow. */
export function pathOfClick(event: MouseEvent): string | null {
  if (event.defaultPrevented || event.button !== 0) return null;
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return null;
  const link = event.target instanceof Element ? event.target.closest("a") : null;
  if (link === null || link.target !== "" || link.hasAttribute("download")) return null;
  const { origin, pathname, search, hash } = new URL(link.href, location.href);
  const isOurs = origin === location.origin && !isElsewhere(pathname, location.pathname) && hash === "";
  return isOurs ? pathname + search : null;
}

/** The sign-in page that leads back here. */
export function signInPath(path: string, search: string): string {
  return path === "/sign-in" ? path + search : `/sign-in?to=${encodeURIComponent(path + search)}`;
}
