import { describe, expect, it } from "vitest";
import { normals } from "./example-place.ts";
import { addSample, emptySums, ridge } from "./ridge.ts";

describe("ridge", () => {
  it("finds the coefficients of an exact relation when nothing is expected with any weight", () => {
    const random = normals(5);
    const sums = emptySums(3);
    for (let n = 0; n < 20; n++) {
      const x = Float64Array.of(random(), random(), random());
      addSample(sums, x, 2 * (x[0] ?? 0) - 0.5 * (x[1] ?? 0) + 7 * (x[2] ?? 0));
    }
    const found = ridge(sums, new Float64Array(3), 0);
    for (const [j, wanted] of [2, -0.5, 7].entries()) expect(found[j]).toBeCloseTo(wanted, 6);
  });

  it("stands midway between what is expected and what one feature says when both weigh the same", () => {
    const sums = emptySums(1);
    for (let n = 0; n < 10; n++) addSample(sums, Float64Array.of(1), 3);
    expect(ridge(sums, Float64Array.of(1), 10)[0]).toBeCloseTo(2, 6);
  });

  it("gives what is expected without samples, and for a feature that is always zero", () => {
    expect([...ridge(emptySums(2), Float64Array.of(0.4, 0.6), 5)]).toEqual([0.4, 0.6]);
    const sums = emptySums(2);
    for (let n = 1; n < 10; n++) addSample(sums, Float64Array.of(n, 0), n);
    expect(ridge(sums, Float64Array.of(1, 0.3), 0)[1]).toBeCloseTo(0.3, 6);
  });
});
