import { describe, expect, it } from "vitest";
import type { PlacedCheck } from "../records/records.ts";
import { calibrationOf, wilsonInterval } from "./calibration.ts";

describe("wilsonInterval", () => {
  // R. Newcombe, Statistics in Medicine 17, 1998, 857–872, table I, method 3 (score, without correction).
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])("of %i in %i is %d to %d", (hits, tries, low, high) => {
    const interval = wilsonInterval(hits, tries);
    expect(interval.low).toBeCloseTo(low, 4);
    expect(interval.high).toBeCloseTo(high, 4);
  });
});

const minute = 60_000;
/** Told likely at 100 and safe at 120 minutes after the finish. */
const check = (coatId: string, minutes: number, ready: boolean, more: Partial<PlacedCheck> = {}): PlacedCheck => ({
  id: `${coatId}-${minutes}`,
  coatId,
  stage: "sand",
  sheetId: "s",
  sheetRevision: 1,
  finishedAtMs: 0,
  place: "booth",
  isCorrectedSince: false,
  atMs: minutes * minute,
  ready,
  told: { likelyAtMs: 100 * minute, safeAtMs: 120 * minute },
  ...more,
});
const many = (count: number, minutes: number, ready: boolean) =>
  Array.from({ length: count }, (_, index) => check(`${minutes}-${ready}-${index}`, minutes, ready));

describe("calibrationOf", () => {
  it("takes a check at the safe time itself for one at nine in ten, and the likely time for evens", () => {
    const { atSafe, bands } = calibrationOf([...many(18, 120, true), ...many(2, 120, false), ...many(10, 100, true)]);
    expect(atSafe).toMatchObject({ checks: 20, ready: 18, found: { share: 0.9 } });
    expect(atSafe.told).toBeCloseTo(0.9, 4);
    expect(bands.filter(({ checks }) => checks > 0).map(({ from, checks }) => [from, checks])).toEqual([
      [0.5, 10],
      [0.9, 20],
    ]);
    // A person who scatters finds fewer ready than are: ln 1.2 ÷ √(0.1423² + 0.12²) is 0.979 deviations, 0.836.
    expect(atSafe.expected).toBeCloseTo(0.836, 3);
  });
  it("counts second looks in the one share and in no other", () => {
    const twice = many(10, 121, true).flatMap((late) => [check(late.coatId, 90, false), late]);
    const { atSafe, firstAtSafe, bands } = calibrationOf(twice);
    expect([atSafe.checks, firstAtSafe.checks]).toEqual([10, 0]);
    expect(bands.map(({ checks }) => checks)).toEqual([10, 0, 0, 0, 0, 0, 0]);
  });
  it("counts a coat once that was looked at again and again after its safe time", () => {
    const farOff = [130, 140, 150, 160].map((minutes) => check("far-off", minutes, minutes === 160));
    expect(calibrationOf([...many(9, 121, true), ...farOff]).atSafe).toMatchObject({ checks: 10, ready: 9 });
  });
  it("gives no share of too few", () => {
    const { atSafe } = calibrationOf(many(9, 130, true));
    expect(atSafe).toMatchObject({ checks: 9, ready: 9, found: null });
  });
  it("leaves out what was not told, was told of another coat, or cannot be a probability", () => {
    const told = (likely: number, safe: number | null) => ({
      told: { likelyAtMs: likely * minute, safeAtMs: safe === null ? null : safe * minute },
    });
    const untold = [
      check("a", 120, true, { told: null }),
      check("b", 120, true, { isCorrectedSince: true }),
      check("c", 0, true),
      check("d", 120, true, told(100, 100)),
      check("e", 120, true, told(-10, 100)),
      check("f", 120, true, told(100, null)),
    ];
    const { atSafe, bands, untold: left } = calibrationOf(untold);
    expect([atSafe.checks, left]).toEqual([0, 6]);
    expect(bands.every(({ checks, told: mean }) => checks === 0 && mean === null)).toBe(true);
  });
});
