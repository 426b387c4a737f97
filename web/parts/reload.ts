/** Loads the page anew when the server runs another version than when it was opened, and waits where that did not help. */

/** The least time from one reload to the next (our choice): servers that take turns must not keep a wall from being read. */
export const leastBetweenMs = 600_000;
const key = "coatclock-reloaded-at-ms";

export interface ReloadTools {
  /** What outlives a reload: sessionStorage. */
  storage: Pick<Storage, "getItem" | "setItem">;
  /** UTC ms by this machine. */
  nowMs(): number;
  reload(): void;
}

export interface Reloader {
  /** Whether the page is outdated as far as is known now: reloads at once, or when enough time has passed since the last time. */
  outdated(isOutdated: boolean): void;
  stop(): void;
}

export function reloader({ storage, nowMs, reload }: ReloadTools): Reloader {
  let waiting: ReturnType<typeof setTimeout> | undefined;
  const stop = () => {
    clearTimeout(waiting);
    waiting = undefined;
  };
  const now = () => {
    stop();
    storage.setItem(key, String(nowMs()));
    reload();
  };
  return {
    outdated(isOutdated) {
      if (!isOutdated) stop();
      else if (waiting === undefined) {
        const agoMs = nowMs() - Number(storage.getItem(key) ?? Number.NaN);
        // A clock that was set back says nothing.
        if (agoMs >= 0 && agoMs < leastBetweenMs) waiting = setTimeout(now, leastBetweenMs - agoMs);
        else now();
      }
    },
    stop,
  };
}

/** Of this very page. */
export function pageReloader(): Reloader {
  return reloader({ storage: sessionStorage, nowMs: Date.now, reload: () => location.reload() });
}
