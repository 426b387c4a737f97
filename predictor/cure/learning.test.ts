import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type CheckFinding, learn, lessonWords } from "./learning.ts";

/** Φ by summing the density from far out, Simpson's rule: slow, and none of the model's code. */
function shareBelow(x: number): number {
  const pieces = 2000;
  const from = Math.min(x, 0) - 12;
  const step = (x - from) / pieces;
  let sum = 0;
  for (let i = 0; i <= pieces; i++) {
    const weight = i === 0 || i === pieces ? 1 : i % 2 === 1 ? 4 : 2;
    sum += weight * Math.exp(-((from + i * step) ** 2) / 2);
  }
  return (sum * step) / 3 / Math.sqrt(2 * Math.PI);
}

/** The same posterior as a product of plain probabilities, on the grid that docs/model-details.md states. */
function bruteLesson(findings: CheckFinding[], sheetSigma: number): { lnFactor: number; sigma: number } {
  let [total, first, second] = [0, 0, 0];
  for (let i = 0; i <= 600; i++) {
    const lnF = -1.5 + 0.005 * i;
    let weight = Math.exp(-(lnF * lnF) / (2 * sheetSigma * sheetSigma));
    for (const { lnFactor, ready } of findings) {
      const share = shareBelow((lnF - lnFactor) / 0.12);
      weight *= ready ? share : 1 - share;
    }
    total += weight;
    first += weight * lnF;
    second += weight * lnF * lnF;
  }
  const lnFactor = first / total;
  return { lnFactor, sigma: Math.sqrt(second / total - lnFactor * lnFactor) };
}

const ready = (lnFactor: number): CheckFinding => ({ lnFactor, ready: true });
const notYet = (lnFactor: number): CheckFinding => ({ lnFactor, ready: false });

describe("the lesson from checks", () => {
  it("is the prior where there are none", () => {
    expect(learn([])).toEqual({ lnFactor: 0, lnSafeFactor: 0, sigma: 0.15, checks: 0 });
    expect(learn([], 0.3)).toEqual({ lnFactor: 0, lnSafeFactor: 0, sigma: 0.3, checks: 0 });
  });
  it.each<[string, CheckFinding[], number]>([
    ["one check at the sheet's own time", [ready(0)], 0.15],
    ["a slow shop", [notYet(0.05), notYet(-0.1), ready(-0.3), ready(-0.25), notYet(-0.2)], 0.15],
    ["a wider prior", [ready(0.2), notYet(0.3), ready(0.25)], 0.4],
    ["checks that contradict each other", [ready(0.4), notYet(-0.4)], 0.15],
  ])("agrees with plain probabilities multiplied: %s", (_, findings, sheetSigma) => {
    const { lnFactor, sigma, checks } = learn(findings, sheetSigma);
    const brute = bruteLesson(findings, sheetSigma);
    expect(lnFactor).toBeCloseTo(brute.lnFactor, 9);
    expect(sigma).toBeCloseTo(brute.sigma, 9);
    expect(checks).toBe(findings.length);
  });
  it("lets safe go by a factor further from the sheet, by what the prior pulls and at most half a sigma", () => {
    const slow = Array.from({ length: 40 }, (_, i) => (i % 2 === 0 ? notYet(-0.2) : ready(-0.28)));
    const { lnFactor, lnSafeFactor, sigma } = learn(slow);
    const share = (sigma / 0.15) ** 2;
    expect(lnSafeFactor).toBeCloseTo(lnFactor / (1 - share), 12);
    const one = learn([notYet(0.05)]);
    expect(one.lnSafeFactor).toBeCloseTo(one.lnFactor - one.sigma / 2, 12);
    const fast = learn(slow.map(({ lnFactor: ln, ready: isReady }) => ({ lnFactor: -ln, ready: !isReady })));
    expect(fast.lnSafeFactor).toBeCloseTo(-lnSafeFactor, 9);
  });
  // Closed form for a normal prior and one probit check at f* = 0, derived: mean s²/√(s² + c²) · √(2/π), and by symmetry
  // the second moment about 0 stays s².
  it("from one check at the sheet's own time is the closed form", () => {
    const mean = (0.15 ** 2 / Math.hypot(0.15, 0.12)) * Math.sqrt(2 / Math.PI);
    const { lnFactor, sigma } = learn([ready(0)]);
    expect(lnFactor).toBeCloseTo(mean, 8);
    expect(sigma).toBeCloseTo(Math.sqrt(0.15 ** 2 - mean ** 2), 8);
    expect(learn([notYet(0)]).lnFactor).toBeCloseTo(-mean, 8);
  });
  it("goes faster for a ready, slower for a not yet, and the more so the more surprising it is", () => {
    for (const at of [-0.4, -0.1, 0, 0.1, 0.4]) {
      expect(learn([ready(at)]).lnFactor).toBeGreaterThan(0);
      expect(learn([notYet(at)]).lnFactor).toBeLessThan(0);
      expect(learn([ready(at + 0.1)]).lnFactor).toBeGreaterThan(learn([ready(at)]).lnFactor);
      expect(learn([notYet(at - 0.1)]).lnFactor).toBeLessThan(learn([notYet(at)]).lnFactor);
    }
  });
  // Brascamp and Lieb (1976): what multiplies a normal density and has a concave logarithm, as Φ does, never widens it.
  it("is never less sure than without checks, whatever they say, and grows surer with many", () => {
    const finding = fc.record({ lnFactor: fc.double({ min: -0.6, max: 0.6, noNaN: true }), ready: fc.boolean() });
    fc.assert(
      fc.property(fc.array(finding, { maxLength: 6 }), (findings) => {
        expect(learn(findings).sigma).toBeLessThanOrEqual(0.15 + 1e-12);
      }),
      { numRuns: 60 },
    );
    const sigmas = [0, 4, 20, 60].map((count) =>
      Array.from({ length: count }, (_, i) => (i % 2 === 0 ? ready(-0.1) : notYet(-0.1))),
    );
    const [none, four, twenty, sixty] = sigmas.map((findings) => learn(findings).sigma) as [
      number,
      number,
      number,
      number,
    ];
    expect(none > four && four > twenty && twenty > sixty).toBe(true);
  });
  it("does not depend on the order of the checks", () => {
    const order = fc.array(fc.record({ lnFactor: fc.double({ min: -4, max: 4, noNaN: true }), ready: fc.boolean() }), {
      minLength: 2,
      maxLength: 8,
    });
    fc.assert(
      fc.property(order, fc.infiniteStream(fc.nat()), (findings, keys) => {
        const shuffled = findings
          .map((finding) => ({ finding, key: keys.next().value as number }))
          .sort((a, b) => a.key - b.key)
          .map(({ finding }) => finding);
        const [one, other] = [learn(findings), learn(shuffled)];
        expect(other.lnFactor).toBeCloseTo(one.lnFactor, 9);
        expect(other.sigma).toBeCloseTo(one.sigma, 9);
        expect(other.checks).toBe(one.checks);
      }),
      { numRuns: 60 },
    );
  });
  it("stays a number within the grid for checks that contradict each other or are far out", () => {
    const finding = fc.record({ lnFactor: fc.double({ min: -700, max: 700, noNaN: true }), ready: fc.boolean() });
    fc.assert(
      fc.property(fc.array(finding, { maxLength: 8 }), (findings) => {
        const { lnFactor, sigma } = learn(findings);
        expect(Math.abs(lnFactor)).toBeLessThanOrEqual(1.5);
        expect(sigma >= 0 && sigma <= 1.5).toBe(true);
      }),
      { numRuns: 60 },
    );
    const many = Array.from({ length: 200 }, (_, i) => (i % 2 === 0 ? ready(3) : notYet(-3)));
    expect(Math.abs(learn(many).lnFactor)).toBeLessThan(1e-9);
  });
  it("is not moved by a check that was sure to come out as it did", () => {
    const { lnFactor, sigma } = learn([ready(-4), notYet(4)]);
    expect(lnFactor).toBeCloseTo(0, 10);
    expect(sigma).toBeCloseTo(0.15, 8);
  });
  it("neither counts nor believes a check with an infinite factor", () => {
    for (const lnFactor of [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      expect(learn([ready(lnFactor), notYet(lnFactor)])).toEqual(learn([]));
      expect(learn([ready(lnFactor), notYet(-0.1)])).toEqual(learn([notYet(-0.1)]));
    }
  });
  it("leaves a sheet without uncertainty as it is", () => {
    expect(learn([notYet(0.3), notYet(0.3)], 0)).toEqual({ lnFactor: 0, lnSafeFactor: 0, sigma: 0, checks: 2 });
  });
  it("refuses what is no number", () => {
    expect(() => learn([ready(Number.NaN)])).toThrow(RangeError);
    for (const sigma of [-0.1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => learn([], sigma)).toThrow(RangeError);
  });
});

describe("a lesson in words", () => {
  const words = (timeShare: number, checks: number) =>
    lessonWords({ lnFactor: -Math.log(timeShare), lnSafeFactor: 0, sigma: 0.05, checks });
  it("gives the percentage of the time, not of the rate", () => {
    expect(lessonWords({ lnFactor: Math.log(0.8), lnSafeFactor: 0, sigma: 0.05, checks: 20 })).toBe(
      "this shop: 25 % slower than the sheet, from 20 checks",
    );
    expect(lessonWords({ lnFactor: Math.log(1.25), lnSafeFactor: 0, sigma: 0.05, checks: 20 })).toBe(
      "this shop: 20 % faster than the sheet, from 20 checks",
    );
    expect(words(1.08, 14)).toBe("this shop: 8 % slower than the sheet, from 14 checks");
  });
  it("says so where the shop is as the sheet says, within half a percent", () => {
    expect(words(1.004, 1)).toBe("this shop: as the sheet says, from 1 check");
    expect(words(0.996, 3)).toBe("this shop: as the sheet says, from 3 checks");
    expect(words(1.006, 3)).toBe("this shop: 1 % slower than the sheet, from 3 checks");
    expect(lessonWords(learn([]))).toBe("this shop: as the sheet says, no checks yet");
  });
  it("says when learning is off, with the checks that would count", () => {
    const off = { off: true };
    expect(lessonWords({ lnFactor: -0.1, lnSafeFactor: 0, sigma: 0.05, checks: 5 }, off)).toBe(
      "this shop: as the sheet says; learning is off (5 checks so far)",
    );
    expect(lessonWords({ lnFactor: -0.1, lnSafeFactor: 0, sigma: 0.05, checks: 1 }, off)).toContain("(1 check so far)");
    expect(lessonWords(learn([]), off)).toContain("(no checks so far)");
  });
});
