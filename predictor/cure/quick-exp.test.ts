import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { nearExp, quickExp } from "./quick-exp.ts";

describe("quickExp", () => {
  it("is Math.exp within 1e-15 over its table", () => {
    fc.assert(
      fc.property(fc.double({ min: -64, max: 64, noNaN: true }), (y) => {
        expect(Math.abs(quickExp(y) / Math.exp(y) - 1)).toBeLessThan(1e-15);
      }),
      { numRuns: 5000 },
    );
  });
  it("is Math.exp itself beyond it, and NaN for NaN", () => {
    for (const y of [-64, 64, -1000, 1000, 80.5]) expect(quickExp(y)).toBe(Math.exp(y));
    expect(quickExp(Number.NaN)).toBeNaN();
  });
});

describe("nearExp", () => {
  it("is Math.exp within 2e-12 near 0, and quickExp beyond", () => {
    for (let y = -0.0312; y < 0.0312; y += 0.0001) expect(Math.abs(nearExp(y) / Math.exp(y) - 1)).toBeLessThan(2e-12);
    for (const y of [0.5, -3, 100]) expect(nearExp(y)).toBe(quickExp(y));
    expect(nearExp(Number.NaN)).toBeNaN();
  });
});
