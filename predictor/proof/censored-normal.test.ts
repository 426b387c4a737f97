import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Between, fitNormal } from "./censored-normal.ts";

const none = Number.POSITIVE_INFINITY;

describe("fitNormal", () => {
  it("gives the probit line of Bliss's beetles: each is known only to have died of less or of more than its dose", () => {
    // C. Bliss, Annals of Applied Biology 22, 1935; as worked in A. Dobson, An Introduction to Generalized Linear Models, table 7.2 and the probit
    // line after it, -34.94 + 19.73 x (from memory): mean 34.94/19.73, sigma 1/19.73.
    const log10Dose = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.861, 1.8839];
    const beetles = [59, 60, 62, 56, 63, 59, 62, 60];
    const killed = [6, 13, 18, 28, 52, 53, 61, 60];
    const bounds = log10Dose.flatMap((dose, index) => {
      const dead = killed[index] ?? 0;
      const alive = (beetles[index] ?? 0) - dead;
      return [
        ...Array<Between>(dead).fill({ low: -none, high: dose }),
        ...Array<Between>(alive).fill({ low: dose, high: none }),
      ];
    });
    const fit = fitNormal(bounds);
    const sigma = fit?.sigma ?? Number.NaN;
    expect(1 / sigma).toBeCloseTo(19.73, 1);
    expect((fit?.mean ?? Number.NaN) / sigma).toBeCloseTo(34.94, 1);
  });

  it("comes to mean and standard deviation where the bounds are as good as points", () => {
    const values = [-0.3, -0.1, 0, 0.05, 0.2, 0.4];
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const sigma = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
    const fit = fitNormal(values.map((value) => ({ low: value - 1e-5, high: value + 1e-5 })));
    expect(fit?.mean).toBeCloseTo(mean, 6);
    expect(fit?.sigma).toBeCloseTo(sigma, 6);
    // The error of a mean is sigma over the root of n.
    expect(fit?.high).toBeCloseTo(mean + (1.959964 * sigma) / Math.sqrt(values.length), 5);
  });

  it("moves and stretches with the values", () => {
    const bound = fc.tuple(fc.integer({ min: -50, max: 50 }), fc.integer({ min: 1, max: 30 }));
    fc.assert(
      fc.property(fc.array(bound, { minLength: 6, maxLength: 20 }), (pairs) => {
        const bounds = pairs.map(([low, width]) => ({ low: low / 100, high: (low + width) / 100 }));
        const fit = fitNormal(bounds);
        const moved = fitNormal(bounds.map(({ low, high }) => ({ low: 0.5 * low + 1, high: 0.5 * high + 1 })));
        fc.pre(fit !== null && fit.sigma !== null);
        expect(moved?.mean).toBeCloseTo(0.5 * (fit?.mean ?? 0) + 1, 4);
        expect(moved?.sigma).toBeCloseTo(0.5 * (fit?.sigma ?? 0), 4);
      }),
    );
  });

  it("tells no spread where one value fits all, and the stretch of such values", () => {
    const fit = fitNormal([
      { low: -0.1, high: 0.1 },
      { low: 0, high: 0.3 },
      { low: -none, high: 0.06 },
    ]);
    expect(fit).toEqual({ mean: 0.03, low: 0, high: 0.06, sigma: null });
  });

  it("says nothing without bounds, with bounds on one side only, or where they leave no room", () => {
    expect(fitNormal([])).toBeNull();
    expect(
      fitNormal([
        { low: -none, high: 1 },
        { low: -none, high: 2 },
      ]),
    ).toBeNull();
    expect(fitNormal([{ low: 1, high: 1 }])).toBeNull();
  });
});
