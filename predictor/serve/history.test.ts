import { expect, it } from "vitest";
import type { Places } from "../follow/place-history.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import { rollUpMs, type Series } from "../readings/store.ts";
import { climateHistory } from "./history.ts";

const places: Places = { booth: { name: "Booth", kind: "booth", sensors: { "air-temperature": "pi/air" } } };

it("shows rolled-up air no finer than it is known, and without holes", async () => {
  const store = openSqliteStore(":memory:");
  const series: Series = { collector: "pi", sensor: "air", quantity: "air-temperature" };
  const readings = Array.from({ length: 60 }, (_, n) => ({ ...series, atMs: n * 60_000, value: 20 + n / 10 }));
  await store.append(readings);
  const stays = [{ place: "booth", fromMs: 0, toMs: Number.POSITIVE_INFINITY }];
  const history = () => climateHistory(store, places, stays, { fromMs: 0, toMs: 3_600_000, points: 2_000 });
  expect((await history()).bucketSeconds).toBe(2);
  await store.rollUp(1_800_000);
  const { bucketSeconds, airC } = await history();
  expect(bucketSeconds).toBe(rollUpMs / 1000);
  expect(airC.mean).toHaveLength(12);
  expect(airC.mean).toEqual(Array.from({ length: 12 }, (_, n) => expect.closeTo(20.2 + n / 2, 9)));
  expect(airC.max[0]).toBe(20.4);
  await store.close();
});
