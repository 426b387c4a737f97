import { describe, expect, it } from "vitest";
import { controlChart } from "./control-chart.ts";

/**
 * NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, "Individuals Control Charts": flow rate of ten batches, from memory. Its results
 * (mean 50.81, mean range 1.8778, limits 45.8159 and 55.8041) are quoted so by others, too.
 */
const flowRate = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];

describe("controlChart", () => {
  it("gives the limits of the handbook's example, and nothing outside them", () => {
    const { points, limits } = controlChart(flowRate);
    expect(limits?.mean).toBeCloseTo(50.81, 10);
    expect(limits?.meanRange).toBeCloseTo(1.8778, 4);
    expect(limits?.lower).toBeCloseTo(45.8159, 4);
    expect(limits?.upper).toBeCloseTo(55.8041, 4);
    const ranges = [2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5];
    expect(points.slice(1).map(({ range }) => range)).toEqual(ranges.map((range) => expect.closeTo(range, 10)));
    expect(points.some(({ outside, isRangeOutside }) => outside !== null || isRangeOutside)).toBe(false);
  });
  it("limits the ranges at 3.267 times their mean", () => {
    expect(controlChart(flowRate).limits?.rangeUpper).toBeCloseTo(3.267 * 1.87778, 3);
  });
  it("says which value lies outside, to which side, and which leap", () => {
    const steady = Array.from({ length: 20 }, (_, index) => (index % 2 === 0 ? 1 : -1));
    const points = controlChart([...steady, 30, 0, -30, 0]).points;
    expect(points.map(({ outside }) => outside).filter((each) => each !== null)).toEqual(["above", "below"]);
    expect(points.filter(({ isRangeOutside }) => isRangeOutside)).toHaveLength(4);
  });
  it("has no limits, and so nothing outside, where there are too few", () => {
    const { points, limits } = controlChart([0, 0, 0, 100]);
    expect(limits).toBeNull();
    expect(points.map(({ range }) => range)).toEqual([null, 0, 0, 100]);
    expect(points.some(({ outside, isRangeOutside }) => outside !== null || isRangeOutside)).toBe(false);
    expect(controlChart([], 0)).toEqual({ points: [], limits: null });
  });
});
