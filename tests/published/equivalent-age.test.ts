/** Equivalent age and mean kinetic temperature, through the model itself. */
import { describe, expect, it } from "vitest";
import { equivalentMinutes, held } from "./held-history.ts";

const day = 1440;

/**
 * EN 1992-1-1:2004 (B.10) and fib Model Code 2010 (5.1-85): sum of exp(13.65 − 4000/(273 + T))·Δt, an Arrhenius age with
 * E/R = 4000 K. It takes 0 °C for 273 K, so temperatures are passed 0.15 °C lower; and as 13.65 is rounded, it is not 1
 * at its own reference (0.99812463 at 20 °C), so the model's age is multiplied by the formula's value at 293.15 K.
 */
const codeActivationK = 4000;
const codeFactor = Math.exp(13.65 - codeActivationK / 293.15);
const codeAgeDays = (...parts: [tempC: number, days: number][]) =>
  (codeFactor *
    equivalentMinutes(
      held(...parts.map(([tempC, days]) => ({ panelC: tempC - 0.15, minutes: days * day }))),
      codeActivationK,
    )) /
  day;

describe("equivalent age", () => {
  it("is 8.37986781 d for six intervals over 8 d (fib structuralcodes, a0386546, test_maturity, EN 1992-1-1 B.10)", () => {
    expect(codeAgeDays([19, 1], [20, 2], [20, 1], [21, 1], [22, 1], [23, 2])).toBeCloseTo(8.37986781, 8);
  });
  it("is 15.7723 d for 7 d at 20 °C and 7 d at 25 °C (the same, test_t_T, Model Code 2010)", () => {
    expect(codeAgeDays([20, 7], [25, 7])).toBeCloseTo(15.7723, 4);
  });
});

/** USP 29 <1160>: ΔH/R is 10,000 K; the mean kinetic temperature is the constant one that does the same. */
const mktActivationK = 10_000;
function meanKineticC(...parts: [tempC: number, hours: number][]): number {
  const minutes = parts.reduce((sum, [, hours]) => sum + hours * 60, 0);
  const worth = equivalentMinutes(
    held(...parts.map(([panelC, hours]) => ({ panelC, minutes: hours * 60 }))),
    mktActivationK,
  );
  return 1 / (1 / 293.15 - Math.log(worth / minutes) / mktActivationK) - 273.15;
}

describe("mean kinetic temperature", () => {
  it("of a constant temperature is that temperature (identity)", () => {
    for (const tempC of [-5, 4, 25, 60]) expect(meanKineticC([tempC, 30])).toBeCloseTo(tempC, 8);
  });
  it("does not depend on the order of the parts and lies above the mean (identities)", () => {
    const mixed = meanKineticC([15, 3], [30, 3], [20, 3], [25, 3]);
    expect(mixed).toBeCloseTo(meanKineticC([30, 3], [25, 3], [20, 3], [15, 3]), 8);
    expect(mixed).toBeGreaterThan(22.5);
  });
  // Derived with mpmath from the formula of USP 29 <1160> at 10,000 K; no published example with inputs and result was found.
  it.each<[string, [number, number][], number]>([
    [
      "15, 20, 25, 30 °C for equal times",
      [
        [15, 6],
        [20, 6],
        [25, 6],
        [30, 6],
      ],
      24.1040535,
    ],
    [
      "20 °C for 23 h, 40 °C for 1 h",
      [
        [20, 23],
        [40, 1],
      ],
      22.44793033,
    ],
    [
      "20 °C for 2 h, 2 °C for 4 h, 25 °C for 1 h",
      [
        [20, 2],
        [2, 4],
        [25, 1],
      ],
      15.67758133,
    ],
    [
      "4, 4, 4, 4, 16 °C for equal times",
      [
        [4, 4],
        [16, 1],
      ],
      8.108857215,
    ],
  ])("of %s is the derived value", (_, parts, expectedC) => {
    expect(meanKineticC(...parts)).toBeCloseTo(expectedC, 6);
  });
});
