/** What every store of readings must do; each engine's test runs it. */
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type ReadingStore, rollUpMs, type Series, type StoredReading } from "../predictor/readings/store.ts";

const air: Series = { collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" };
const humidity: Series = { ...air, quantity: "air-humidity" };
const at = (atMs: number, value: number, series: Series = air): StoredReading => ({ ...series, atMs, value });

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
      const thinned = await store.thin(air, { fromMs: 0, toMs: 3000, bucketMs: 3000 });
      expect(thinned).toEqual([{ startMs: 0, count: 1, min: 20, max: 20, mean: 20 }]);
    });

    it("knows nothing of a series that never came", async () => {
      expect(await store.range(humidity, 0, 1)).toEqual([]);
      expect(await store.latest(humidity)).toBeUndefined();
      expect(await store.thin(humidity, { fromMs: 0, toMs: 1, bucketMs: 1 })).toEqual([]);
    });

    it("thins to minimum, maximum and mean, leaving out empty buckets and values that can be no measurement", async () => {
      await store.append([at(100, 20), at(200, 24), at(300, 400), at(2100, 19)]);
      const thinned = await store.thin(air, { fromMs: 0, toMs: 3000, bucketMs: 1000 });
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
      const thinned = await store.thin(air, { fromMs: -2000, toMs: 0, bucketMs: 1000 });
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
          const thinned = await store.thin(air, { fromMs: 0, toMs: 50_001, bucketMs });
          expect(await store.countBuckets(air, { fromMs: 0, toMs: 50_001, bucketMs })).toBe(thinned.length);
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

    describe("rolls up", () => {
      const minuteMs = 60_000;
      /** A reading a minute, from 20 on, 0.1 more each time. */
      const minutes = (count: number, fromMs = 0) =>
        Array.from({ length: count }, (_, n) => at(fromMs + n * minuteMs, 20 + n / 10));
      async function rollUpAll(beforeMs: number): Promise<number> {
        let total = 0;
        for (let taken = await store.rollUp(beforeMs); taken > 0; taken = await store.rollUp(beforeMs)) total += taken;
        return total;
      }

      it("whole five minutes before an instant, and leaves the readings after it", async () => {
        await store.append(minutes(15));
        expect(await rollUpAll(9 * minuteMs)).toBe(5);
        const means = [{ atMs: 150_000, value: expect.closeTo(20.2, 9), meanOverMs: rollUpMs }];
        const kept = minutes(15).slice(5);
        expect(await store.range(air, 0, 15 * minuteMs)).toEqual([
          ...means,
          ...kept.map(({ atMs, value }) => ({ atMs, value })),
        ]);
        expect(await store.range(air, 150_000, 150_001)).toEqual(means);
        expect(await store.range(air, 0, 150_000)).toEqual([]);
        expect(await store.latest(air, 4 * minuteMs)).toEqual(means[0]);
        expect(await store.latest(air, 5 * minuteMs)).toEqual({ atMs: 5 * minuteMs, value: 20.5 });
        expect(await store.earliest(air)).toEqual(means[0]);
        expect(await store.earliest(air, 150_001)).toEqual({ atMs: 5 * minuteMs, value: 20.5 });
      });

      it("in pieces, until nothing is left to take", async () => {
        await store.append([...minutes(200), at(0, 55, humidity)]);
        const first = await store.rollUp(200 * minuteMs);
        expect(first).toBeGreaterThan(0);
        expect(first).toBeLessThan(201);
        expect(first + (await rollUpAll(200 * minuteMs))).toBe(201);
        expect(await store.rollUp(200 * minuteMs)).toBe(0);
        expect(await store.rollUp(Number.NaN)).toBe(0);
      });

      it("to the same counts, minima, means and maxima, in buckets of whole five minutes", async () => {
        await store.append(minutes(60));
        const span = { fromMs: 0, toMs: 60 * minuteMs, bucketMs: 2 * rollUpMs };
        const before = await store.thin(air, span);
        await rollUpAll(35 * minuteMs);
        const after = await store.thin(air, span);
        expect(after).toEqual(before.map((bucket) => ({ ...bucket, mean: expect.closeTo(bucket.mean, 9) })));
      });

      it("so that a finer bucket holds what starts in it, and says so", async () => {
        await store.append(minutes(6));
        await rollUpAll(5 * minuteMs);
        expect(await store.thin(air, { fromMs: 0, toMs: 6 * minuteMs, bucketMs: minuteMs })).toEqual([
          { startMs: 0, count: 5, min: 20, max: 20.4, mean: expect.closeTo(20.2, 9), isCoarse: true },
          { startMs: 5 * minuteMs, count: 1, min: 20.5, max: 20.5, mean: 20.5 },
        ]);
      });

      it("what came late but before the roll-up, and counts nothing that comes after it", async () => {
        await store.append(minutes(5));
        await store.append([at(30_000, 26)]);
        await rollUpAll(rollUpMs);
        const span = { fromMs: 0, toMs: rollUpMs, bucketMs: rollUpMs };
        const [bucket] = await store.thin(air, span);
        expect(bucket).toMatchObject({ count: 6, max: 26 });
        expect(await store.append([...minutes(5), at(31_000, 90)])).toEqual([]);
        await rollUpAll(rollUpMs);
        expect(await store.thin(air, span)).toEqual([bucket]);
      });

      it("what came late where there was nothing before", async () => {
        await store.append([...minutes(5), ...minutes(5, 10 * minuteMs)]);
        await rollUpAll(15 * minuteMs);
        const late = minutes(5, 5 * minuteMs);
        expect(await store.append(late)).toEqual(late);
        await rollUpAll(15 * minuteMs);
        const thinned = await store.thin(air, { fromMs: 0, toMs: 15 * minuteMs, bucketMs: rollUpMs });
        expect(thinned.map(({ startMs, count }) => [startMs / minuteMs, count])).toEqual([
          [0, 5],
          [5, 5],
          [10, 5],
        ]);
      });

      it("nothing that is of no use", async () => {
        await store.append([
          at(0, 20),
          at(1000, 400),
          { ...at(2000, 60), mark: { quality: "bad", why: "spike" } },
          at(rollUpMs, 400),
        ]);
        expect(await rollUpAll(2 * rollUpMs)).toBe(4);
        expect(await store.thin(air, { fromMs: 0, toMs: 2 * rollUpMs, bucketMs: rollUpMs })).toEqual([
          { startMs: 0, count: 1, min: 20, max: 20, mean: 20 },
        ]);
        expect(await store.earliest(air, rollUpMs)).toBeUndefined();
      });

      it("for good: it is there after it was closed and opened again", async () => {
        await store.append(minutes(10));
        await rollUpAll(rollUpMs);
        await store.close();
        store = await engine.open();
        expect(await store.append(minutes(10))).toEqual([]);
        expect((await store.range(air, 0, 10 * minuteMs)).map(({ atMs }) => atMs / minuteMs)).toEqual([
          2.5, 5, 6, 7, 8, 9,
        ]);
      });

      it("any readings, in any order with any copies between, and counts each of them once", async () => {
        const atMs = fc.integer({ min: -3 * rollUpMs, max: 3 * rollUpMs });
        const deed = fc.oneof(fc.array(atMs, { minLength: 1, maxLength: 20 }), fc.record({ beforeMs: atMs }));
        await fc.assert(
          fc.asyncProperty(fc.array(deed, { maxLength: 12 }), async (deeds) => {
            await store.close();
            await engine.wipe();
            store = await engine.open();
            const taken = new Map<number, number>();
            const rolled = new Set<number>();
            for (const one of deeds) {
              if (!Array.isArray(one)) {
                for (const each of taken.keys()) {
                  const start = Math.floor(each / rollUpMs);
                  if ((start + 1) * rollUpMs <= one.beforeMs) rolled.add(start);
                }
                await rollUpAll(one.beforeMs);
                continue;
              }
              const fresh = [...new Set(one)].filter(
                (each) => !taken.has(each) && !rolled.has(Math.floor(each / rollUpMs)),
              );
              const answer = await store.append(one.map((each) => at(each, Math.abs(each % 997) / 20)));
              expect(answer.map((reading) => reading.atMs)).toEqual(fresh);
              for (const each of fresh) taken.set(each, Math.abs(each % 997) / 20);
            }
            const thinned = await store.thin(air, { fromMs: -3 * rollUpMs, toMs: 4 * rollUpMs, bucketMs: rollUpMs });
            for (const bucket of thinned) {
              const held = [...taken].filter(([each]) => Math.floor(each / rollUpMs) * rollUpMs === bucket.startMs);
              const values = held.map(([, value]) => value);
              expect(bucket.count).toBe(values.length);
              expect([bucket.min, bucket.max]).toEqual([Math.min(...values), Math.max(...values)]);
              expect(bucket.mean).toBeCloseTo(values.reduce((sum, value) => sum + value, 0) / values.length, 9);
            }
            expect(thinned.reduce((sum, { count }) => sum + count, 0)).toBe(taken.size);
          }),
          { numRuns: 40 },
        );
      });
    });

    it("finds the oldest at or after an instant, be it of use or not", async () => {
      await store.append([at(1000, 400), at(2000, 21)]);
      expect(await store.earliest(air)).toEqual({ atMs: 1000, value: 400 });
      expect(await store.earliest(air, 1001)).toEqual({ atMs: 2000, value: 21 });
      expect(await store.earliest(air, 2001)).toBeUndefined();
      expect(await store.earliest(humidity)).toBeUndefined();
    });
  });
}
