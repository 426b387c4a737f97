/** A server-sent event stream that notices silence: a connection can be dead for minutes before the browser says so. */

/** No event for this long, heartbeats included (one each 10 s), means lost. */
export const silenceLimitMs = 25_000;
const checkEveryMs = 1_000;
const reopenAfterMs = 5_000;
const closedState = 2;

/** The part of EventSource that is used. */
export interface StreamLike {
  readonly readyState: number;
  onopen: ((event: Event) => void) | null;
  onerror: ((event: Event) => void) | null;
  addEventListener(type: string, listener: (event: MessageEvent<string>) => void): void;
  close(): void;
}

export interface LiveStreamOptions {
  /** Opens the stream: `() => new EventSource(url)`. */
  open(): StreamLike;
  monotonicMs(): number;
  /** By event name; each gets the parsed JSON. */
  events: Readonly<Record<string, (data: unknown) => void>>;
  onOpen(): void;
  /** Called once for each loss. */
  onLost(): void;
}

/** Follows the stream until the returned function is called. An event that is no JSON counts as a loss: the page cannot be believed. */
export function followStream(options: LiveStreamOptions): () => void {
  let stream: StreamLike | null = null;
  let heardMs = options.monotonicMs();
  let lost = false;
  let reopenAtMs = Number.POSITIVE_INFINITY;

  const lose = () => {
    if (!lost) options.onLost();
    lost = true;
  };
  const close = () => {
    stream?.close();
    stream = null;
  };
  const reopenLater = () => {
    close();
    reopenAtMs = options.monotonicMs() + reopenAfterMs;
  };
  const connect = () => {
    const opened = options.open();
    stream = opened;
    heardMs = options.monotonicMs();
    reopenAtMs = Number.POSITIVE_INFINITY;
    opened.onopen = () => {
      if (stream !== opened) return;
      heardMs = options.monotonicMs();
      lost = false;
      options.onOpen();
    };
    opened.onerror = () => {
      if (stream !== opened) return;
      lose();
      // While it is not closed the browser connects again by itself.
      if (opened.readyState === closedState) reopenLater();
    };
    for (const [name, handle] of Object.entries(options.events)) {
      opened.addEventListener(name, (event) => {
        if (stream !== opened) return;
        heardMs = options.monotonicMs();
        let data: unknown;
        try {
          data = JSON.parse(event.data);
        } catch {
          lose();
          reopenLater();
          return;
        }
        handle(data);
      });
    }
  };

  const watchdog = setInterval(() => {
    const nowMs = options.monotonicMs();
    if (stream !== null && nowMs - heardMs > silenceLimitMs) {
      lose();
      reopenLater();
    } else if (stream === null && nowMs >= reopenAtMs) connect();
  }, checkEveryMs);
  connect();
  return () => {
    clearInterval(watchdog);
    close();
  };
}
