/** What every store of readings must do; each engine's test runs it. */
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { ReadingStore, Series, StoredReading } from "../predictor/readings/store.ts";

const air: Series = { collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" };
const humidity: Series = { ...air, quantity: "air-humidity" };
const at = (atMs: number, value: number, series: Series = air): StoredReading => ({ ...series, atMs, value });
const widest = { lowest: Number.NEGATIVE_INFINITY, highest: Number.POSITIVE_INFINITY };

/** `open` gives a store on the same place each time, so that what was closed can be opened again; `wipe` empties the place. */
export function storeSuite(engine: { open: () => Promise<ReadingStore>; wipe: () => Promise<void> }): void {
  describe("the store of readings", () => {
    let store: ReadingStore;
    beforeEach(async () => {
      await engine.wipe();
      store = await engine.open();
    });
    afterEach(async () => {
      await store.close();
    });

    it("gives back what was appended, in order of time", async () => {
      await store.append([at(3000, 21), at(1000, 20), at(2000, 20.5)]);
      expect(await store.range(air, 0, 10_000)).toEqual([
        { atMs: 1000, value: 20 },
        { atMs: 2000, value: 20.5 },
        { atMs: 3000, value: 21 },
      ]);
    });

    it("takes the start of a span and leaves its end", async () => {
      await store.append([at(1000, 20), at(2000, 21)]);
      expect(await store.range(air, 1000, 2000)).toEqual([{ atMs: 1000, value: 20 }]);
    });

    it("changes nothing on a second copy, and says which readings are new", async () => {
      expect(await store.append([at(1000, 20)])).toEqual([at(1000, 20)]);
      expect(await store.append([at(1000, 99), at(2000, 21)])).toEqual([at(2000, 21)]);
      expect(await store.range(air, 0, 10_000)).toEqual([
        { atMs: 1000, value: 20 },
        { atMs: 2000, value: 21 },
      ]);
    });

    it("keeps series apart by collector, sensor and quantity", async () => {
      await store.append([at(1000, 20), at(1000, 55, humidity), at(1000, 7, { ...air, collector: "yard-pi" })]);
      expect(await store.range(humidity, 0, 2000)).toEqual([{ atMs: 1000, value: 55 }]);
      expect(await store.series()).toHaveLength(3);
    });

    it("finds the newest at or before an instant", async () => {
      await store.append([at(1000, 20), at(2000, 21), at(3000, 22)]);
      expect(await store.latest(air)).toEqual({ atMs: 3000, value: 22 });
      expect(await store.latest(air, 2999)).toEqual({ atMs: 2000, value: 21 });
      expect(await store.latest(air, 999)).toBeUndefined();
    });

    it("keeps marks, and passes over what is marked bad where it gives a newest value or thins", async () => {
      const doubtful = { ...at(1000, 20), mark: { quality: "doubtful", why: "fast change" } } as const;
      const bad = { ...at(2000, 90), mark: { quality: "bad", why: "spike" } } as const;
      expect(await store.append([doubtful, bad])).toEqual([doubtful, bad]);
      expect(await store.range(air, 0, 3000)).toEqual([
        { atMs: 1000, value: 20, mark: doubtful.mark },
        { atMs: 2000, value: 90, mark: bad.mark },
      ]);
      expect(await store.latest(air)).toEqual({ atMs: 1000, value: 20, mark: doubtful.mark });
      const thinned = await store.thin(air, { fromMs: 0, toMs: 3000, bucketMs: 3000, ...widest });
      expect(thinned).toEqual([{ startMs: 0, count: 1, min: 20, max: 20, mean: 20 }]);
    });

    it("knows nothing of a series that never came", async () => {
      expect(await store.range(humidity, 0, 1)).toEqual([]);
      expect(await store.latest(humidity)).toBeUndefined();
      expect(await store.thin(humidity, { fromMs: 0, toMs: 1, bucketMs: 1, ...widest })).toEqual([]);
    });

    it("thins to minimum, maximum and mean, leaving out empty buckets and values out of range", async () => {
      await store.append([at(100, 20), at(200, 24), at(300, 400), at(2100, 19)]);
      const thinned = await store.thin(air, { fromMs: 0, toMs: 3000, bucketMs: 1000, lowest: -40, highest: 85 });
      expect(thinned).toEqual([
        { startMs: 0, count: 2, min: 20, max: 24, mean: 22 },
        { startMs: 2000, count: 1, min: 19, max: 19, mean: 19 },
      ]);
    });

    it("counts the buckets that thinning would give, whatever start and bounds", async () => {
      const bad = { quality: "bad", why: "stuck" } as const;
      await store.append([at(100, 20), at(900, 21), at(1200, 400), { ...at(2100, 19), mark: bad }, at(3999, 22)]);
      const bounds = { lowest: -40, highest: 85 };
      const count = (fromMs: number, toMs: number) =>
        store.countBuckets(air, { fromMs, toMs, bucketMs: 1000, ...bounds });
      expect(await count(0, 4000)).toBe(2);
      expect(await count(0, 3999)).toBe(1);
      expect(await count(901, 3999)).toBe(0);
      // From here on the first two lie in two buckets.
      expect(await count(-500, 4000)).toBe(3);
      expect(await store.countBuckets(humidity, { fromMs: 0, toMs: 4000, bucketMs: 1000, ...bounds })).toBe(0);
    });

    it("thins before 1970 and from any start as it does after", async () => {
      await store.append([at(-1500, 10), at(-500, 12)]);
      const thinned = await store.thin(air, { fromMs: -2000, toMs: 0, bucketMs: 1000, ...widest });
      expect(thinned.map((bucket) => [bucket.startMs, bucket.mean])).toEqual([
        [-2000, 10],
        [-1000, 12],
      ]);
    });

    it("still has everything after it was closed and opened again", async () => {
      await store.append([at(1000, 20), at(1000, 55, humidity)]);
      await store.close();
      store = await engine.open();
      expect(await store.latest(air)).toEqual({ atMs: 1000, value: 20 });
      expect(await store.append([at(1000, 20)])).toEqual([]);
    });

    it("thins any readings to buckets that hold each of them once", async () => {
      const readings = fc.uniqueArray(fc.integer({ min: 0, max: 50_000 }), { minLength: 1, maxLength: 60 });
      await fc.assert(
        fc.asyncProperty(readings, fc.integer({ min: 1, max: 20_000 }), async (instants, bucketMs) => {
          await store.close();
          await engine.wipe();
          store = await engine.open();
          await store.append(instants.map((instant) => at(instant, instant / 1000)));
          const thinned = await store.thin(air, { fromMs: 0, toMs: 50_001, bucketMs, ...widest });
          expect(await store.countBuckets(air, { fromMs: 0, toMs: 50_001, bucketMs, ...widest })).toBe(thinned.length);
          expect(thinned.reduce((sum, bucket) => sum + bucket.count, 0)).toBe(instants.length);
          for (const bucket of thinned) {
            const held = instants.filter((each) => each >= bucket.startMs && each < bucket.startMs + bucketMs);
            expect(held).toHaveLength(bucket.count);
            expect(bucket.min).toBe(Math.min(...held) / 1000);
            expect(bucket.max).toBe(Math.max(...held) / 1000);
          }
        }),
        { numRuns: 25 },
      );
    });
  });
}
