import { describe, expect, it } from "vitest";
import { DormandPrince } from "./dormand-prince.ts";

describe("DormandPrince", () => {
  it("follows exponential growth to 1e-9 over a long way", () => {
    const solver = new DormandPrince((_, y) => y);
    expect(solver.advance(0, 1, 20, Number.POSITIVE_INFINITY)).toBe(20);
    expect(solver.value / Math.exp(20)).toBeCloseTo(1, 9);
  });
  it("stops where the quantity comes to its target, inside a step, and says exactly that value", () => {
    const solver = new DormandPrince((x) => 3 * x * x);
    expect(solver.advance(0, 0, 10, 8)).toBeCloseTo(2, 12);
    expect(solver.value).toBe(8);
  });
  it("stops at once where the quantity is at its target already", () => {
    const solver = new DormandPrince(() => 1);
    expect(solver.advance(3, 5, 10, 5)).toBe(3);
    expect(solver.value).toBe(5);
  });
  it("reaches the end of a stiff relaxation, which it must cross in short steps", () => {
    const solver = new DormandPrince((_, y) => 1000 * (1 - y));
    solver.advance(0, 0, 10, Number.POSITIVE_INFINITY);
    expect(solver.value).toBeCloseTo(1, 9);
  });
  it("starts where the slope is not smooth", () => {
    const solver = new DormandPrince((x) => Math.sqrt(x));
    solver.advance(0, 0, 9, Number.POSITIVE_INFINITY);
    expect(solver.value).toBeCloseTo(18, 9);
  });
  it.each([
    ["no number", () => Number.NaN],
    ["infinite", () => Number.POSITIVE_INFINITY],
    ["wild", (x: number) => Math.abs(Math.sin(1e9 * x)) * 1e9],
  ])("comes to an end where the slope is %s", (_, slope) => {
    let calls = 0;
    const solver = new DormandPrince((x) => {
      calls++;
      return slope(x);
    });
    expect(solver.advance(0, 0, 1, Number.POSITIVE_INFINITY)).toBe(1);
    expect(calls).toBeLessThan(100_000);
  });
});
