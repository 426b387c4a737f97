import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { gapMinutes, type Point, spreadOf } from "./spread.ts";

const minute = 60_000;
const at = (minutes: number, value: number): Point => ({ atMs: minutes * minute, value });

describe("spreadOf", () => {
  it("weighs by time: an hour at 20 and a minute at 30 are not 25", () => {
    const points = [at(0, 20), at(60, 20), at(60, 30), at(61, 30)];
    expect(spreadOf(points, undefined, 60 * minute)).toEqual({
      min: 20,
      mean: (60 * 20 + 30) / 61,
      max: 30,
      minutesOutside: null,
    });
  });
  it("counts the time outside from where a line crosses the bound", () => {
    const points = [at(0, 10), at(10, 20), at(20, 40)];
    expect(spreadOf(points, { min: 15 }, 60 * minute)?.minutesOutside).toBeCloseTo(5, 9);
    expect(spreadOf(points, { max: 30 }, 60 * minute)?.minutesOutside).toBeCloseTo(5, 9);
    expect(spreadOf(points, { min: 15, max: 30 }, 60 * minute)?.minutesOutside).toBeCloseTo(10, 9);
    expect(spreadOf(points, { min: 10, max: 40 }, 60 * minute)?.minutesOutside).toBe(0);
  });
  it("says nothing of a gap, nor of a single point", () => {
    const points = [at(0, 20), at(5, 20), at(30, 50), at(35, 20)];
    expect(spreadOf(points, { max: 25 }, 10 * minute)).toMatchObject({ mean: 27.5, max: 50 });
    expect(spreadOf(points, { max: 25 }, 10 * minute)?.minutesOutside).toBeCloseTo(5 * (25 / 30), 9);
    expect(spreadOf([at(0, 20)], undefined, minute)).toBeNull();
    expect(spreadOf([at(0, 20), at(20, 20)], undefined, minute)).toBeNull();
  });
  it("does not depend on how finely an even change is sampled", () => {
    const tenths = fc.integer({ min: -200, max: 600 }).map((tenth) => tenth / 10);
    const values = fc.array(tenths, { minLength: 2, maxLength: 8 });
    fc.assert(
      fc.property(values, tenths, (each, max) => {
        const coarse = each.map((value, index) => at(index * 4, value));
        const fine = coarse.flatMap((point, index) => {
          const next = coarse[index + 1];
          return next === undefined ? [point] : [point, at(index * 4 + 1, (3 * point.value + next.value) / 4)];
        });
        const [one, other] = [spreadOf(coarse, { max }, 4 * minute), spreadOf(fine, { max }, 4 * minute)];
        expect(other?.mean).toBeCloseTo(one?.mean ?? Number.NaN, 6);
        expect(other?.minutesOutside).toBeCloseTo(one?.minutesOutside ?? Number.NaN, 6);
      }),
    );
  });
});

describe("gapMinutes", () => {
  it("counts what is longer than bridged, at the ends too", () => {
    const points = [at(3, 1), at(8, 1), at(40, 1), at(45, 1)];
    expect(gapMinutes(points, 0, 60 * minute, 10 * minute)).toBe(32 + 15);
    expect(gapMinutes([], 0, 30 * minute, 10 * minute)).toBe(30);
    expect(gapMinutes(points, 3 * minute, 45 * minute, 40 * minute)).toBe(0);
  });
});
