import { describe, expect, it } from "vitest";
import type { Outcome, StageOutcome } from "./climb.ts";
import { type SheetWindow, type StageName, sheetSchema } from "./sheet.ts";
import { sheetWindows } from "./windows.ts";

const minute = 60_000;
const stage = (name: StageName, likely: number | null, safe: number | null): StageOutcome => ({
  stage: name,
  curePercent: 25,
  reached: false,
  likelyAtMs: likely === null ? null : likely * minute,
  likelyMinutes: likely,
  safeAtMs: safe === null ? null : safe * minute,
  safeMinutes: safe,
  isCovered: true,
});
const outcomeWith = (...stages: StageOutcome[]): Outcome => ({
  asOfMs: 0,
  curePercent: 0,
  equivalentMinutes: 0,
  stages,
  windowClosesAtMs: [],
  panelC: 20,
  panelEstimated: false,
  notes: [],
});
const byClock: SheetWindow = { for: "cover", opensAt: "finish", closesAfterMinutes: 15, ifMissed: "apply again" };
const at = (window: SheetWindow, minutes: number, outcome = outcomeWith()) => {
  const { closesAfterMinutes, closesAt } = window;
  const likelyAtMs = outcome.stages.find((each) => each.stage === closesAt)?.likelyAtMs ?? null;
  const closesAtMs = closesAfterMinutes === undefined ? likelyAtMs : closesAfterMinutes * minute;
  const sheet = sheetSchema.parse({
    id: "invented",
    revision: 1,
    name: "Invented",
    kind: "sealer",
    film: { dryUm: 20 },
    stages: [{ stage: "sand", minutesAtC: { 20: 60 } }],
    windows: [window],
  });
  return sheetWindows(sheet, { ...outcome, windowClosesAtMs: [closesAtMs] }, 0, minutes * minute)[0];
};

describe("windows", () => {
  it("close in the last five minutes of a quarter of an hour, and are missed at its very end", () => {
    const states = [0, 9.99, 10, 14.99, 15].map((minutes) => at(byClock, minutes)?.state);
    expect(states).toEqual(["open", "open", "closing", "closing", "missed"]);
  });
  it("close in their second half when they are shorter than ten minutes", () => {
    const short = { ...byClock, closesAfterMinutes: 6 };
    expect([2.99, 3].map((minutes) => at(short, minutes)?.state)).toEqual(["open", "closing"]);
  });
  it("open when their stage is safe and count their minutes from the finish", () => {
    const window: SheetWindow = { ...byClock, opensAt: "overcoat", closesAfterMinutes: 60 };
    const outcome = outcomeWith(stage("overcoat", 15, 20));
    const states = [19, 20, 55, 60].map((minutes) => at(window, minutes, outcome)?.state);
    expect(states).toEqual(["not open", "open", "closing", "missed"]);
    expect(at(window, 0, outcome)).toMatchObject({ opensAtMs: 20 * minute, closesAtMs: 60 * minute });
  });
  it("stay open when the closing stage is never reached, and shut when the opening one is not", () => {
    const window: SheetWindow = { for: "cover", opensAt: "finish", closesAt: "sand", ifMissed: "sand it" };
    expect(at(window, 1e6, outcomeWith(stage("sand", null, null)))?.state).toBe("open");
    const never = outcomeWith(stage("overcoat", null, null), stage("sand", 9, 12));
    expect(at({ ...window, opensAt: "overcoat" }, 5, never)?.state).toBe("not open");
  });
});
