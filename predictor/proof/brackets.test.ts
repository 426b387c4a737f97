import { describe, expect, it } from "vitest";
import type { PlacedCheck } from "../records/records.ts";
import { bracketsOf, middleOf } from "./brackets.ts";

const minute = 60_000;
const check = (minutes: number, ready: boolean, more: Partial<PlacedCheck> = {}): PlacedCheck => ({
  id: String(minutes),
  coatId: "c",
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

describe("bracketsOf", () => {
  it("lies between the last 'not yet' and the first 'ready', by what was told at the former", () => {
    const later = { told: { likelyAtMs: 110 * minute, safeAtMs: 125 * minute } };
    const [bracket, ...others] = bracketsOf([
      check(80, false),
      check(90, false, later),
      check(121, true, { place: "bay" }),
      check(130, true),
      check(140, false),
    ]);
    expect(others).toEqual([]);
    expect(bracket).toMatchObject({
      kind: "between",
      place: "bay",
      notYetAtMs: 90 * minute,
      readyAtMs: 121 * minute,
      told: later.told,
      lnLow: Math.log(90 / 110),
      lnHigh: Math.log(121 / 110),
    });
    expect(middleOf(bracket as NonNullable<typeof bracket>)).toBeCloseTo(Math.log(Math.sqrt(90 * 121) / 110), 12);
  });
  it("is bounded on one side by a lone check, and has no middle", () => {
    const [ready] = bracketsOf([check(100, true)]);
    expect(ready).toMatchObject({ kind: "ready-only", lnLow: -Infinity, lnHigh: 0 });
    const [notYet] = bracketsOf([check(200, false)]);
    expect(notYet).toMatchObject({ kind: "not-yet-only", lnLow: Math.log(2), lnHigh: Infinity });
    expect([ready, notYet].map((bracket) => bracket && middleOf(bracket))).toEqual([null, null]);
  });
  it("tells no deviation where nothing was told that holds, and goes by the later check where only that was told", () => {
    const [untold] = bracketsOf([check(90, false, { told: null }), check(100, true, { isCorrectedSince: true })]);
    expect(untold).toMatchObject({ kind: "between", told: null, lnLow: null, lnHigh: null });
    const [later] = bracketsOf([check(90, false, { told: null }), check(100, true)]);
    expect(later).toMatchObject({ lnLow: Math.log(0.9), lnHigh: 0 });
  });
  it("keeps stages and coats apart, in order of their last checks, and leaves out a check at the finish", () => {
    const brackets = bracketsOf([
      check(0, false),
      check(10, false, { coatId: "d" }),
      check(20, true, { stage: "polish" }),
      check(30, true, { coatId: "d" }),
    ]);
    expect(brackets.map(({ coatId, stage, kind }) => `${coatId} ${stage} ${kind}`)).toEqual([
      "c polish ready-only",
      "d sand between",
    ]);
  });
});
