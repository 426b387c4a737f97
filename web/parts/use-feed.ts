/** The feed and the ticking clock as Preact hooks. */
import { useEffect, useState } from "preact/hooks";
import { type FeedSource, type FeedState, startFeed } from "./feed.ts";
import { reloader } from "./reload.ts";
import { type ServerNow, serverNow } from "./server-now.ts";
import { useWords } from "./words-context.ts";

const monotonicMs = () => performance.now();

export interface Feed<View> extends Omit<FeedState<View>, "failure"> {
  /** Why there is no view; null while loading or when there is one. */
  failure: string | null;
  /** By the server's clock; moves each second without any data. */
  nowMs: number;
}

/** Follows a source for as long as the page stands. The source must stay the same object. */
export function useFeed<View>(source: FeedSource<View>): Feed<View> {
  const words = useWords();
  const [clock] = useState<ServerNow>(() => serverNow(monotonicMs, Date.now));
  const [state, setState] = useState<FeedState<View>>({ view: null, failure: null, lostSinceMs: null });
  const [nowMs, setNowMs] = useState(() => clock.nowMs());
  useEffect(() => {
    const { outdated, stop: stopReload } = reloader({
      storage: sessionStorage,
      nowMs: Date.now,
      reload: () => location.reload(),
    });
    const show = (next: FeedState<View>) => {
      setState(next);
      setNowMs(clock.nowMs());
    };
    const stopFeed = startFeed(source, show, {
      get: (url, signal) => fetch(url, { signal, headers: { accept: "application/json" } }),
      open: (url) => new EventSource(url),
      monotonicMs,
      clock,
      outdated,
    });
    return () => {
      stopFeed();
      stopReload();
    };
  }, [source, clock]);
  useEffect(() => {
    const tick = setInterval(() => setNowMs(clock.nowMs()), 1000);
    return () => clearInterval(tick);
  }, [clock]);
  const { failure } = state;
  return { ...state, failure: failure === null || typeof failure === "string" ? failure : words.say(failure), nowMs };
}
