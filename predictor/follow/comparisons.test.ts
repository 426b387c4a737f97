import { afterEach, beforeEach, expect, it } from "vitest";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../readings/store.ts";
import { Comparisons } from "./comparisons.ts";
import type { Places } from "./place-history.ts";

const minute = 60_000;
const t0 = Date.parse("2026-03-02T08:00:00Z");
const places: Places = {
  booth: {
    name: "Booth",
    kind: "booth",
    sensors: { "air-temperature": "pi/first", "air-humidity": "pi/first" },
    compare: { "air-humidity": "pi/second" },
  },
  yard: { name: "Yard", kind: "yard", sensors: { "air-temperature": "pi/mast" } },
};
const humidity = (sensor: string, atMs: number, value: number): StoredReading => {
  return { collector: "pi", sensor, quantity: "air-humidity", atMs, value };
};
/** Both sensors each minute, the second lower by so much. */
const both = (fromMs: number, minutes: number, by: number): StoredReading[] =>
  Array.from({ length: minutes }, (_, n) => fromMs + n * minute).flatMap((atMs) => [
    humidity("first", atMs, 55),
    humidity("second", atMs, 55 - by),
  ]);

let store: ReadingStore;
beforeEach(() => {
  store = openSqliteStore(":memory:");
});
afterEach(() => store.close());

it("compares the two sensors that the shop file names for a place, as their readings are committed", () => {
  const comparisons = new Comparisons(store, places);
  comparisons.committed(both(t0, 30, 15));
  expect(comparisons.at("booth", t0 + 30 * minute)).toEqual([
    { quantity: "air-humidity", sensors: ["pi/first", "pi/second"], differs: "now", byMedian: 15, overHours: 0.5 },
  ]);
  expect(comparisons.at("yard", t0 + 30 * minute)).toEqual([]);
});

it("takes up the last day from the store, so that a drift is not forgotten by a restart", async () => {
  await store.append(both(t0 - 24 * 60 * minute, 24 * 60, 8));
  const comparisons = new Comparisons(store, places);
  expect(comparisons.at("booth", t0)).toEqual([]);
  await comparisons.start(() => t0);
  expect(comparisons.at("booth", t0)).toMatchObject([{ differs: "drift", byMedian: 8, overHours: 24 }]);
});

it("passes over readings that are marked bad", () => {
  const comparisons = new Comparisons(store, places);
  const bad = { quality: "bad", why: "stuck" } as const;
  comparisons.committed(both(t0, 30, 15).map((reading) => ({ ...reading, mark: bad })));
  expect(comparisons.at("booth", t0 + 30 * minute)).toEqual([]);
});

it("tells the second sensor's newest reading and its newest one of use, after a restart too", async () => {
  await store.append(both(t0 - 30 * minute, 30, 8));
  const comparisons = new Comparisons(store, places);
  expect(comparisons.newest("booth", "air-humidity")).toBeUndefined();
  await comparisons.start(() => t0);
  expect(comparisons.current("booth", "air-humidity")).toMatchObject({
    ...{ value: 47, atMs: t0 - minute, sensor: "pi/second", cadenceMs: minute },
  });
  const mark = { quality: "bad", why: "stuck" } as const;
  comparisons.committed([{ ...humidity("second", t0, 47), mark }]);
  expect(comparisons.newest("booth", "air-humidity")).toMatchObject({ atMs: t0, mark });
  expect(comparisons.current("booth", "air-humidity")?.atMs).toBe(t0 - minute);
  expect(comparisons.current("booth", "air-temperature")).toBeUndefined();
  expect(comparisons.current("yard", "air-humidity")).toBeUndefined();
});
