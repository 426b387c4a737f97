import { describe, expect, it } from "vitest";
import { dryFilmUm, spreadingRateM2PerL } from "./film.ts";

describe("a wet film", () => {
  it("dries to its share of solids", () => {
    expect(dryFilmUm(120, 45)).toBeCloseTo(54, 12);
    expect(dryFilmUm(80, 100)).toBe(80);
  });
  it("of thinned paint dries to less by the thinner's share", () => {
    expect(dryFilmUm(110, 50, 0.1)).toBeCloseTo(50, 12);
  });
  it("comes to no number where an entry cannot be", () => {
    const entries: [number, number, number?][] = [
      [0, 50],
      [-5, 50],
      [100, 0],
      [100, 101],
      [100, 50, -0.1],
      [Number.NaN, 50],
      [100, Number.NaN],
      [100, 50, Number.NaN],
    ];
    for (const [wetUm, solids, thinned] of entries) expect(dryFilmUm(wetUm, solids, thinned)).toBeNaN();
  });
});

describe("the spreading rate", () => {
  it("of a litre times the wet film it is spread at is that litre, whatever the solids", () => {
    for (const solids of [30, 65, 100]) {
      const wetUm = 90;
      expect(spreadingRateM2PerL(solids, dryFilmUm(wetUm, solids)) * wetUm * 1e-6).toBeCloseTo(1e-3, 15);
    }
  });
  it("comes to no number where an entry cannot be", () => {
    for (const [solids, dryUm] of [
      [0, 50],
      [101, 50],
      [50, 0],
      [Number.NaN, 50],
      [50, Number.NaN],
    ] as const) {
      expect(spreadingRateM2PerL(solids, dryUm)).toBeNaN();
    }
  });
});
