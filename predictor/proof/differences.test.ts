import { afterEach, beforeEach, expect, it } from "vitest";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../readings/store.ts";
import { differenceTrail, trailOf } from "./differences.ts";

const minute = 60_000;
const halfHour = 30 * minute;
const nowMs = Date.parse("2026-03-03T10:10:00Z");
const line = (sensor: string) => ({ collector: "pi", sensor, quantity: "air-humidity" as const });

let store: ReadingStore;
beforeEach(() => {
  store = openSqliteStore(":memory:");
});
afterEach(() => store.close());

it("is the difference of half-hour means where both were heard, up to the last half hour that is over", async () => {
  const readings = (sensor: string, fromMs: number, value: number): StoredReading[] =>
    [0, 10, 20].map((minutes) => ({ ...line(sensor), atMs: fromMs + minutes * minute, value: value + minutes / 10 }));
  const nine = Date.parse("2026-03-03T09:00:00Z");
  await store.append([
    ...readings("first", nine, 50),
    ...readings("second", nine, 46),
    // Only the first was heard, then the second said nothing of use; after ten o'clock is not over yet.
    ...readings("first", nine + halfHour, 50),
    { ...line("second"), atMs: nine + halfHour, value: 20, mark: { quality: "bad", why: "stuck" } },
    ...readings("first", nine + 2 * halfHour, 50),
    ...readings("second", nine + 2 * halfHour, 10),
  ]);
  const trail = await differenceTrail(store, [line("first"), line("second")], { nowMs, days: 2, bound: 6 });
  expect(trail.fromMs).toBe(Date.parse("2026-03-01T10:00:00Z"));
  expect(trail.by).toHaveLength(96);
  expect(trail.by.slice(-3)).toEqual([null, expect.closeTo(4), null]);
  expect(trail).toMatchObject({ atFirst: expect.closeTo(4), lately: expect.closeTo(4), beyond: null });
});

it("says how it was on the first day and on the last, and from when on it was beyond the bound", () => {
  const day = (by: number) => new Array<number | null>(48).fill(by);
  const drifting = [...day(1), ...new Array<null>(10).fill(null), ...day(5), ...day(-8)];
  expect(trailOf(drifting, 0, 6)).toEqual({
    ...{ atFirst: 1, lately: -8 },
    beyond: { sinceMs: (48 + 10 + 48) * halfHour, orBefore: false },
  });
  expect(trailOf([...day(7), null, null], 0, 6)).toMatchObject({ beyond: { sinceMs: 0, orBefore: true } });
  // Back within the bound: what was before is over.
  expect(trailOf([...day(7), 6], 0, 6).beyond).toBeNull();
  expect(trailOf([null, null], 0, 6)).toEqual({ atFirst: null, lately: null, beyond: null });
});
