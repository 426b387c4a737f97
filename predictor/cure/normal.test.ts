import { describe, expect, it } from "vitest";
import { lnNormalShare, normalShare } from "./normal.ts";

const relative = (found: number, expected: number) => Math.abs(found / expected - 1);

describe("the normal share", () => {
  // G. Marsaglia, J. Stat. Software 11(4), 2004, section 1: the true values printed beside his function's; published.
  it.each([
    [0.1, 0.539827837277029],
    [1.2, 0.8849303297782918],
    [2.3, 0.9892758899783242],
    [4.5, 0.9999966023268757],
    [-1.1, 0.13566606094638267],
  ])("below %d is the published %d", (x, expected) => {
    expect(relative(normalShare(x), expected)).toBeLessThan(1e-14);
  });
  // Derived with mpmath in 40 digits.
  it.each([
    [-2, 0.02275013194817921],
    [-2.99, 0.0013948872354922505],
    [-3.01, 0.0013062384487694677],
    [-4, 3.1671241833119924e-5],
    [-6, 9.86587645037698e-10],
    [-12, 1.776482112077679e-33],
    [-20, 2.7536241186062337e-89],
    [-37, 5.725571222524577e-300],
  ])("below %d is the derived %d within 1e-12 of it", (x, expected) => {
    expect(relative(normalShare(x), expected)).toBeLessThan(1e-12);
  });
  it("leaves its share of nine in ten at 1.2815515655446 (percentage point; derived) and half at 0", () => {
    expect(normalShare(1.2815515655446004)).toBeCloseTo(0.9, 14);
    expect(normalShare(0)).toBe(0.5);
  });
  it("adds up to 1 with its mirror image and rises all the way", () => {
    for (let x = -9; x < 9; x += 0.01) {
      expect(Math.abs(normalShare(x) + normalShare(-x) - 1)).toBeLessThan(1e-15);
      expect(normalShare(x + 0.01)).toBeGreaterThanOrEqual(normalShare(x));
      expect(lnNormalShare(x + 0.01)).toBeGreaterThan(lnNormalShare(x));
    }
  });
  it("is 0 and 1 at the infinities and no number where none is given", () => {
    expect([normalShare(Number.NEGATIVE_INFINITY), normalShare(Number.POSITIVE_INFINITY)]).toEqual([0, 1]);
    expect([normalShare(Number.NaN), lnNormalShare(Number.NaN)]).toEqual([Number.NaN, Number.NaN]);
  });
});

describe("the logarithm of the normal share", () => {
  // Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.2, −log10 Q(x) in 5 decimals; from memory,
  // the one at 500 also as quoted from Biometrika Tables at listserv.uga.edu (SAS-L, May 2002).
  it.each([
    [5, 6.54265],
    [10, 23.11805],
    [50, 544.96634],
    [100, 2173.87154],
    [500, 54289.9083],
  ])("beyond %d standard deviations is that of the table, 10 to the minus %d", (x, expected) => {
    expect(Math.abs(-lnNormalShare(-x) / Math.LN10 - expected)).toBeLessThan(6e-6);
  });
  // Derived with mpmath in 40 digits.
  it.each([
    [-1000, -500007.8266948122],
    [-40, -804.6084420137538],
    [-8, -35.01343715991455],
    [-3.01, -6.640603685337551],
    [-2.99, -6.574941701748695],
    [-0.5, -1.1759117615936185],
    [0.5, -0.3689464152886564],
    [2, -0.023012909328963486],
    [3.5, -0.00023265614137680455],
    [6, -9.865876455243758e-10],
    [9, -1.1285884059538405e-19],
  ])("at %d is the derived %d within 1e-12 of it", (x, expected) => {
    expect(relative(lnNormalShare(x), expected)).toBeLessThan(1e-12);
  });
  it("is −∞ and 0 at the infinities", () => {
    expect([lnNormalShare(Number.NEGATIVE_INFINITY), lnNormalShare(Number.POSITIVE_INFINITY)]).toEqual([
      Number.NEGATIVE_INFINITY,
      -0,
    ]);
  });
});
