/** The feed and the ticking clock as Preact hooks. */
import { useEffect, useState } from "preact/hooks";
import { type FeedSource, type FeedState, startFeed } from "./feed.ts";
import { type ServerNow, serverNow } from "./server-now.ts";

const monotonicMs = () => performance.now();

export interface Feed<View> extends FeedState<View> {
  /** By the server's clock; moves each second without any data. */
  nowMs: number;
}

/** Follows a source for as long as the page stands. The source must stay the same object. */
export function useFeed<View>(source: FeedSource<View>): Feed<View> {
  const [clock] = useState<ServerNow>(() => serverNow(monotonicMs, Date.now));
  const [state, setState] = useState<FeedState<View>>({ view: null, failure: null, lostSinceMs: null });
  const [nowMs, setNowMs] = useState(() => clock.nowMs());
  useEffect(
    () =>
      startFeed(source, setState, {
        get: (url, signal) => fetch(url, { signal, headers: { accept: "application/json" } }),
        open: (url) => new EventSource(url),
        monotonicMs,
        clock,
        reload: () => location.reload(),
      }),
    [source, clock],
  );
  useEffect(() => {
    const tick = setInterval(() => setNowMs(clock.nowMs()), 1000);
    return () => clearInterval(tick);
  }, [clock]);
  return { ...state, nowMs };
}
