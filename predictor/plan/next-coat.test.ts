import { describe, expect, it } from "vitest";
import { minute, sheetWith, toyCoat } from "./example-plan.ts";
import { nextCoatVerdict } from "./next-coat.ts";

const wetOnWet = { for: "basecoat", opensAt: "overcoat", closesAfterMinutes: 120, ifMissed: "sand" };
const at = (minutes: number, windows: unknown[]) =>
  nextCoatVerdict(sheetWith({ windows }), toyCoat().outcome(0), 0, minutes * minute);
const states = (windows: unknown[], ...minutes: number[]) => minutes.map((minute) => at(minute, windows).state);

describe("the next coat", () => {
  it("waits for overcoat, is tried between likely and safe, fits in the window, and then is too late", () => {
    const expected = ["too early", "check first", "check first", "in its window", "in its window", "too late"];
    expect(states([wetOnWet], 19.9, 20, 24.9, 25, 119.9, 120)).toEqual(expected);
    expect(at(30, [wetOnWet])).toEqual({ state: "in its window", for: "basecoat", mustBeDone: [] });
    expect(at(120, [wetOnWet])).toEqual({ state: "too late", for: null, mustBeDone: ["sand"] });
  });
  it("waits for overcoat in a window that is open from the finish", () => {
    expect(states([{ ...wetOnWet, opensAt: "finish" }], 5, 22, 30)).toEqual([
      "too early",
      "check first",
      "in its window",
    ]);
  });
  it("goes by overcoat alone where the sheet has no window, and says so where it has nothing to go by", () => {
    expect(states([], 19, 22, 1e5)).toEqual(["too early", "check first", "in its window"]);
    const silent = { ...toyCoat().outcome(0), stages: [] };
    expect(nextCoatVerdict(sheetWith(), silent, 0, 0).state).toBe("not on the sheet");
  });
  it("takes whichever of two windows is furthest open, and tells of a missed one before one that is not open yet", () => {
    // The toy's second window closes when sanding is likely, at 60 min.
    const early = { for: "sealer", opensAt: "finish", closesAt: "sand", ifMissed: "wait and sand" };
    const late = { for: "after sanding", opensAt: "full-cure", closesAfterMinutes: 120, ifMissed: "strip" };
    expect(at(90, [wetOnWet, early]).for).toBe("basecoat");
    expect(at(130, [wetOnWet, early]).mustBeDone).toEqual(["sand", "wait and sand"]);
    expect(at(90, [late, early])).toEqual({ state: "too late", for: null, mustBeDone: ["wait and sand"] });
  });
});
