/** Keeps one view of the predictor current: loads it, follows its stream, says when the connection is lost. */
import type { Problem } from "../../predictor/serve/api.ts";
import { type Text, text } from "../../words/text.ts";
import { followStream, type StreamLike } from "./live-stream.ts";
import type { ServerNow } from "./server-now.ts";

const loadAgainAfterMs = 5_000;

export interface FeedSource<View> {
  /** Address of the whole view. */
  load: string;
  /** Address of the stream. */
  stream: string;
  /** Name of the event that carries the whole view. */
  event: string;
  /** When the server made the view, so that its clock is known even before its first beat. */
  asOf?: (view: View) => string;
  /** Puts a `reading` event into the view; absent where readings are not shown. */
  amend?: (view: View, data: unknown) => View;
  /** Other events of the stream, by name, which do not change the view. */
  hear?: Readonly<Record<string, (data: unknown) => void>>;
}

export interface FeedState<View> {
  view: View | null;
  /** Why there is no view, in the server's words or as a text; null while loading or when there is one. */
  failure: string | Text | null;
  /** Since when, by the server's clock, the figures are not followed; null while they are. */
  lostSinceMs: number | null;
}

export interface FeedTools {
  get(url: string, signal: AbortSignal): Promise<Response>;
  open(url: string): StreamLike;
  monotonicMs(): number;
  clock: ServerNow;
  /** Whether the server runs another version, or another build of it, than when the page was opened. */
  outdated(isOutdated: boolean): void;
}

/** Starts following; `onChange` gets every new state. The returned function ends it. */
export function startFeed<View>(
  source: FeedSource<View>,
  onChange: (state: FeedState<View>) => void,
  tools: FeedTools,
): () => void {
  let state: FeedState<View> = { view: null, failure: null, lostSinceMs: null };
  let version: string | null = null;
  let streaming = false;
  /** Counts whole views, so that a slow answer never overwrites a newer event. */
  let views = 0;
  let retry: ReturnType<typeof setTimeout> | undefined;
  const ended = new AbortController();

  const change = (part: Partial<FeedState<View>>) => {
    if (ended.signal.aborted) return;
    state = { ...state, ...part };
    onChange(state);
  };
  const show = (view: View) => {
    views += 1;
    clearTimeout(retry);
    if (source.asOf !== undefined) tools.clock.learn(source.asOf(view));
    // A view that was only loaded is not followed: it grows old unseen.
    change({ view, failure: null, ...(streaming ? { lostSinceMs: null } : {}) });
  };
  const load = async () => {
    clearTimeout(retry);
    const before = views;
    const failure = await fetchView().then(
      (view) => {
        if (views === before) show(view);
        return null;
      },
      (error: unknown) => (error instanceof LoadFault ? error.said : text("page.no-answer")),
    );
    if (failure === null || ended.signal.aborted || views !== before) return;
    if (state.view === null) change({ failure });
    clearTimeout(retry);
    retry = setTimeout(() => void load(), loadAgainAfterMs);
  };
  const fetchView = async (): Promise<View> => {
    const response = await tools.get(source.load, ended.signal);
    if (!response.ok) throw new LoadFault(await faultOf(response));
    return (await response.json()) as View;
  };

  const stopStream = followStream({
    open: () => tools.open(source.stream),
    monotonicMs: tools.monotonicMs,
    onOpen: () => {
      streaming = true;
      void load();
    },
    onLost: () => {
      streaming = false;
      change({ lostSinceMs: tools.clock.nowMs() });
    },
    events: {
      ...source.hear,
      hello: (data) => {
        const said = (data as { version: string }).version;
        version ??= said;
        tools.outdated(said !== version);
      },
      beat: (data) => tools.clock.learn((data as { at: string }).at),
      reading: (data) => {
        if (state.view !== null && source.amend !== undefined) change({ view: source.amend(state.view, data) });
      },
      [source.event]: (data) => show(data as View),
    },
  });
  void load();
  return () => {
    ended.abort();
    clearTimeout(retry);
    stopStream();
  };
}

class LoadFault extends Error {
  readonly said: string | Text;
  constructor(said: string | Text) {
    super("the server refused the view");
    this.said = said;
  }
}

async function faultOf(response: Response): Promise<string | Text> {
  const fallback = text("page.answered", { status: response.status });
  return response.json().then(
    (problem: Partial<Problem> | null) => problem?.detail ?? fallback,
    () => fallback,
  );
}
