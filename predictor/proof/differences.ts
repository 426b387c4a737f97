/** How two sensors of one quantity in a place differed over the last days: half hour by half hour. */
import { setImmediate as nextTurn } from "node:timers/promises";
import { quantities } from "../../collector/readings.ts";
import type { ReadingStore, Series } from "../readings/store.ts";

const halfHourMs = 30 * 60_000;
const dayMs = 24 * 60 * 60_000;

/** The first sensor minus the second, in the quantity's unit. */
export interface DifferenceTrail {
  /** Start of the first half hour (of UTC); the last one is over. */
  fromMs: number;
  /** For each half hour, oldest first: the mean of the one minus the mean of the other; null where one of them said nothing of use. */
  by: (number | null)[];
  /** Medians of the first and of the last day that something is known of, which may be the same; null without any. */
  atFirst: number | null;
  lately: number | null;
  /** From when on every known half hour was beyond the bound, up to the last known one; `orBefore` where that is all of them. Null where the last one is within. */
  beyond: { sinceMs: number; orBefore: boolean } | null;
}

/** So many days up to an instant. Read a day at a time, so that nothing else waits long. `bound`: what sound sensors may differ by. */
export async function differenceTrail(
  store: Pick<ReadingStore, "thin">,
  [first, second]: readonly [Series, Series],
  { nowMs, days, bound }: { nowMs: number; days: number; bound: number },
): Promise<DifferenceTrail> {
  const toMs = Math.floor(nowMs / halfHourMs) * halfHourMs;
  const fromMs = toMs - days * dayMs;
  const by = new Array<number | null>((toMs - fromMs) / halfHourMs).fill(null);
  for (let dayFromMs = fromMs; dayFromMs < toMs; dayFromMs += dayMs) {
    const span = { fromMs: dayFromMs, toMs: dayFromMs + dayMs, bucketMs: halfHourMs, ...quantities[first.quantity] };
    const means = new Map((await store.thin(second, span)).map(({ startMs, mean }) => [startMs, mean]));
    for (const { startMs, mean } of await store.thin(first, span)) {
      const other = means.get(startMs);
      if (other !== undefined) by[(startMs - fromMs) / halfHourMs] = mean - other;
    }
    await nextTurn();
  }
  return { fromMs, by, ...trailOf(by, fromMs, bound) };
}

/** What a row of half hours from an instant on comes to. */
export function trailOf(
  by: readonly (number | null)[],
  fromMs: number,
  bound: number,
): Pick<DifferenceTrail, "atFirst" | "lately" | "beyond"> {
  const known = by.flatMap((value, index) => (value === null ? [] : [{ value, atMs: fromMs + index * halfHourMs }]));
  const [oldest, newest] = [known[0], known.at(-1)];
  if (oldest === undefined || newest === undefined) return { atFirst: null, lately: null, beyond: null };
  const within = known.findLastIndex(({ value }) => !(Math.abs(value) > bound));
  const since = known[within + 1];
  return {
    atFirst: median(known.filter(({ atMs }) => atMs < oldest.atMs + dayMs)),
    lately: median(known.filter(({ atMs }) => atMs > newest.atMs - dayMs)),
    beyond: since === undefined ? null : { sinceMs: since.atMs, orBefore: within === -1 },
  };
}

function median(values: readonly { value: number }[]): number {
  const sorted = values.map(({ value }) => value).sort((a, b) => a - b);
  const middle = sorted.length / 2;
  return ((sorted[Math.ceil(middle - 1)] as number) + (sorted[Math.floor(middle)] as number)) / 2;
}
