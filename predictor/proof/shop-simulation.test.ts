/**
 * An invented shop whose factor, spread and painter are known: what is reckoned from its checks must give them back. Nothing here is published; the
 * bands are four standard errors, reckoned from the counts.
 */
import { describe, expect, it } from "vitest";
import { ninetiethPercentile } from "../cure/uncertainty.ts";
import type { PlacedCheck } from "../records/records.ts";
import { bracketsOf, isTold } from "./brackets.ts";
import { calibrationOf } from "./calibration.ts";
import { agreementsOf, learnedOf } from "./predictions.ts";

/** Evenly from 0 to below 1: mulberry32, public domain; normal after Box and Muller. */
function chanceFrom(seed: number) {
  let state = seed;
  const even = () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  return { even, normal: () => Math.sqrt(-2 * Math.log(1 - even())) * Math.cos(2 * Math.PI * even()) };
}

interface Shop {
  /** ln(true time ÷ told likely): mean and standard deviation over coats. */
  lnLate: number;
  sigma: number;
  /** What safe was told by. */
  toldSigma: number;
  personSigma: number;
  coats: number;
}

const likelyMs = 3_600_000;

/** Looks at each coat at a time that has nothing to do with how it is, and again each 5 % later until it is ready, or he has had enough. */
function checksOf({ lnLate, sigma, toldSigma, personSigma, coats }: Shop, seed: number): PlacedCheck[] {
  const { even, normal } = chanceFrom(seed);
  const told = { likelyAtMs: likelyMs, safeAtMs: likelyMs * Math.exp(ninetiethPercentile * toldSigma) };
  return Array.from({ length: coats }).flatMap((_, coat) => {
    const lnTrue = lnLate + sigma * normal();
    let ln = -0.2 + 0.5 * even();
    const looks: PlacedCheck[] = [];
    const most = 1 + Math.floor(6 * even());
    while (looks.length < most && looks.at(-1)?.ready !== true) {
      looks.push({
        id: `${coat}-${looks.length}`,
        coatId: String(coat),
        stage: "sand",
        sheetId: "s",
        sheetRevision: 1,
        finishedAtMs: 0,
        place: "booth",
        isCorrectedSince: false,
        atMs: likelyMs * Math.exp(ln),
        ready: ln + personSigma * normal() > lnTrue,
        told,
      });
      ln += 0.05;
    }
    return looks;
  });
}

const right: Shop = { lnLate: 0, sigma: 0.15, toldSigma: 0.15, personSigma: 0, coats: 2000 };

describe("a simulated shop", () => {
  it.each([
    [0.2, 0.1],
    [-0.1, 0.15],
    [0, 0.05],
  ])("gives its deviation %d and spread %d back from brackets", (lnLate, sigma) => {
    const brackets = bracketsOf(checksOf({ ...right, lnLate, sigma, coats: 400 }, 1)).filter(isTold);
    const [all] = agreementsOf(brackets);
    const { mean, low, high, sigma: found } = all?.fit ?? { mean: 9, low: 9, high: 9, sigma: 9 };
    const error = (high - low) / 2 / 1.96;
    expect(error).toBeLessThan(0.02);
    expect(Math.abs(mean - lnLate)).toBeLessThan(4 * error);
    expect(found ?? 0).toBeGreaterThan(0.8 * sigma);
    expect(found ?? 0).toBeLessThan(1.2 * sigma);
  });

  it("would be far off, were the checks that found it ready taken for exact times", () => {
    const brackets = bracketsOf(checksOf({ ...right, coats: 400 }, 1)).filter(isTold);
    const ready = brackets.filter(({ kind }) => kind !== "not-yet-only");
    const naive = ready.reduce((sum, { lnHigh }) => sum + lnHigh, 0) / ready.length;
    const { low, high } = agreementsOf(brackets)[0]?.fit ?? { low: 9, high: 9 };
    expect(low).toBeLessThan(0);
    expect(high).toBeGreaterThan(0);
    expect(naive).toBeGreaterThan(2 * high);
  });

  it("has the true deviation within its interval in about 19 of 20 shops", () => {
    const shops = 200;
    let held = 0;
    for (let seed = 1; seed <= shops; seed++) {
      const [all] = agreementsOf(bracketsOf(checksOf({ ...right, lnLate: 0.1, coats: 80 }, seed)));
      const { low, high } = all?.fit ?? { low: 9, high: 9 };
      if (low <= 0.1 && 0.1 <= high) held++;
    }
    // Four standard errors of a share of 0.95 in 200 are 0.062. With 1,000 such shops it is 0.950.
    expect(held / shops).toBeGreaterThan(0.95 - 0.062);
  });

  it("finds nine in ten where the promise is true, and less where it is not", () => {
    const atSafe = (shop: Shop) =>
      calibrationOf(checksOf(shop, 3)).bands.find(({ from }) => from === 0.9)?.found ?? { share: 9, low: 9, high: 9 };
    // Between 0.90 and 0.97 the mean of what is told is about 0.94.
    expect(atSafe(right).low).toBeLessThan(0.94);
    expect(atSafe(right).high).toBeGreaterThan(0.94);
    expect(atSafe(right).share).toBeGreaterThan(0.9);
    expect(atSafe({ ...right, lnLate: 0.15 }).high).toBeLessThan(0.9);
    expect(atSafe({ ...right, toldSigma: 0.07 }).high).toBeLessThan(0.9);
  });

  it.each([0, 0.12])(
    "finds in each band what is told or, by a person who scatters by %d, what is expected",
    (personSigma) => {
      const { bands } = calibrationOf(checksOf({ ...right, personSigma }, 4));
      for (const { checks, ready, told, expected } of bands) {
        const [share, wanted] = [ready / checks, (personSigma === 0 ? told : expected) ?? 9];
        expect(checks).toBeGreaterThan(50);
        expect(Math.abs(share - wanted)).toBeLessThan(4 * Math.sqrt((wanted * (1 - wanted)) / checks));
      }
    },
  );

  it("has its factor learned from its checks, with a band that holds it", () => {
    const { even, normal } = chanceFrom(5);
    const lnFactor = Math.log(0.85);
    const findings = Array.from({ length: 60 }, (_, atMs) => {
      const asked = -0.3 + 0.4 * even();
      return { atMs, lnFactor: asked, ready: lnFactor + 0.12 * normal() > asked };
    });
    const learned = learnedOf(findings);
    expect(learned.map(({ checks }) => checks)).toEqual(findings.map((_, index) => index + 1));
    const [first, last] = [learned[0], learned.at(-1)];
    const width = (point = last) => Math.log((point?.high ?? 0) / (point?.low ?? 1));
    expect(width(last)).toBeLessThan(width(first) / 2);
    // 2.5 of the lesson's own standard deviations to either side.
    expect(Math.abs(Math.log((last?.timeFactor ?? 0) * 0.85))).toBeLessThan(
      (2.5 * width(last)) / 2 / ninetiethPercentile,
    );
  });
});
