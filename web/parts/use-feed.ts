/** The feed and the ticking clock as Preact hooks. */
import { useEffect, useState } from "preact/hooks";
import { type FeedSource, type FeedState, startFeed } from "./feed.ts";
import { pageReloader } from "./reload.ts";
import { type ServerNow, serverNow } from "./server-now.ts";
import { useWords } from "./words-context.ts";

const monotonicMs = () => performance.now();

export interface Feed<View> extends Omit<FeedState<View>, "failure"> {
  /** Why there is no view; null while loading or when there is one. */
  failure: string | null;
  /** By the server's clock; moves each second without any data. */
  nowMs: number;
}

export interface FeedUse {
  /** Where the server's clock is learned; one of its own when absent. Must stay the same object. */
  clock?: ServerNow;
  /** Hears whether the server runs another version; when absent the page loads itself anew. Must stay the same function. */
  outdated?: (isOutdated: boolean) => void;
}

/** Follows a source; null follows none. The same object means the same source: another one is followed instead, and the old view stands until it came. */
export function useFeed<View>(source: FeedSource<View> | null, use: FeedUse = {}): Feed<View> {
  const words = useWords();
  const [own] = useState<ServerNow>(() => serverNow(monotonicMs, Date.now));
  const clock = use.clock ?? own;
  const [state, setState] = useState<FeedState<View>>({ view: null, failure: null, lostSinceMs: null });
  const [nowMs, setNowMs] = useState(() => clock.nowMs());
  useEffect(() => {
    if (source === null) return;
    const { outdated: reloadOutdated, stop: stopReload } = pageReloader();
    const show = (next: FeedState<View>) => {
      setState(next);
      setNowMs(clock.nowMs());
    };
    const stopFeed = startFeed(source, show, {
      get: (url, signal) => fetch(url, { signal, headers: { accept: "application/json" } }),
      open: (url) => new EventSource(url),
      monotonicMs,
      clock,
      outdated: use.outdated ?? reloadOutdated,
    });
    return () => {
      stopFeed();
      stopReload();
    };
  }, [source, clock, use.outdated]);
  useEffect(() => {
    const tick = setInterval(() => setNowMs(clock.nowMs()), 1000);
    return () => clearInterval(tick);
  }, [clock]);
  const { failure } = state;
  return { ...state, failure: failure === null || typeof failure === "string" ? failure : words.say(failure), nowMs };
}
