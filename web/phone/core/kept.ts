/** Views that the phone keeps, so that a page opened without a network shows the last ones, marked as old. */
import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { ask } from "../../parts/ask.ts";
import { deviceClock } from "../../parts/device-memory.ts";
import { phoneOutbox } from "./enter.ts";

/** A value the phone remembers until another is set; null until it was looked up. The setter stays the same function. */
export function useKept<T>(name: string): [T | null, (value: T) => void] {
  const [value, setValue] = useState<T | null>(null);
  const isSet = useRef(false);
  useEffect(() => {
    phoneOutbox()
      .then(({ store }) => store.kept(name))
      .then(
        (kept) => {
          if (kept !== undefined && !isSet.current) setValue(kept as T);
        },
        // Nothing is remembered: the page waits for the network.
        () => undefined,
      );
  }, [name]);
  const keep = useCallback(
    (next: T) => {
      isSet.current = true;
      setValue(next);
      phoneOutbox()
        .then(({ store }) => store.keep(name, next))
        .catch(() => undefined);
    },
    [name],
  );
  return [value, keep];
}

/** A kept view, or none where there is no address, that is asked for anew at the start, each time the link is back, and when `reason` changes. */
export function useKeptView<T>(
  name: string,
  address: string | null,
  isLinked: boolean,
  reason: string,
): [T | null, (value: T) => void] {
  const [value, keep] = useKept<T>(name);
  // Counts what was asked and what was set, so that a slow answer never overwrites something newer.
  const newest = useRef(0);
  useEffect(() => {
    if (!isLinked || address === null) return;
    newest.current += 1;
    const asked = newest.current;
    ask<T>(address).then(
      (view) => {
        if (asked === newest.current) keep(view);
      },
      // The feed says what is the matter, and this is asked again when it is linked.
      () => undefined,
    );
  }, [address, isLinked, reason, keep]);
  const set = useCallback(
    (next: T) => {
      newest.current += 1;
      keep(next);
    },
    [keep],
  );
  return [value, set];
}

/** Written this seldom: a view may change each second, and what keeps it wears. */
const copiedEveryMs = 10_000;

export interface Copy<T> {
  view: T;
  /** By the server's clock, UTC ms. */
  atMs: number;
}

/** The last view of an earlier page, for while there is no newer one; null until it was looked up, or where there is none. */
export function useLastCopy<T>(name: string, view: T | null): Copy<T> | null {
  const [last, setLast] = useState<Copy<T> | null>(null);
  const copied = useRef(Number.NEGATIVE_INFINITY);
  useEffect(() => {
    phoneOutbox()
      .then(({ store }) => store.kept(name))
      .then(
        (kept) => setLast((kept as Copy<T> | undefined) ?? null),
        () => undefined,
      );
  }, [name]);
  useEffect(() => {
    if (view === null || performance.now() - copied.current < copiedEveryMs) return;
    copied.current = performance.now();
    phoneOutbox()
      .then(({ store }) => store.keep(name, { view, atMs: deviceClock.nowMs() } satisfies Copy<T>))
      .catch(() => undefined);
  }, [name, view]);
  return last;
}

/** How often the page was taken up again: each time, something may have changed in another tab. */
export function useTimesSeen(): number {
  const [times, setTimes] = useState(0);
  useEffect(() => {
    const count = () => {
      if (document.visibilityState === "visible") setTimes((before) => before + 1);
    };
    document.addEventListener("visibilitychange", count);
    return () => document.removeEventListener("visibilitychange", count);
  }, []);
  return times;
}

/** False until so much time has passed. */
export function useLater(afterMs: number): boolean {
  const [isLater, setLater] = useState(false);
  useEffect(() => {
    const waiting = setTimeout(() => setLater(true), afterMs);
    return () => clearTimeout(waiting);
  }, [afterMs]);
  return isLater;
}
