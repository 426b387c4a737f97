import { describe, expect, it } from "vitest";
import type { StageOutcome } from "../cure/climb.ts";
import { Slips } from "./slips.ts";

const minuteMs = 60_000;
const stages = (sandMinute: number | null, stage: StageOutcome["stage"] = "sand"): StageOutcome[] => [
  {
    stage,
    curePercent: 48,
    reached: false,
    isCovered: true,
    likelyAtMs: sandMinute === null ? null : sandMinute * minuteMs,
    likelyMinutes: sandMinute,
    safeAtMs: null,
    safeMinutes: null,
  },
];
/** Looks each minute at the likely time told then; gives the minutes at which a slip is said. */
function said(likely: readonly number[], slips = new Slips()): number[] {
  return likely.flatMap((sandMinute, minute) =>
    slips.of("c1", 0, stages(sandMinute), minute * minuteMs) === null ? [] : [minute],
  );
}

describe("a step that slips", () => {
  it("is said when it moves by 15 % of its time, and by no less than five minutes", () => {
    expect(said([100, 100, 100, 114, 116, 116])).toEqual([4, 5]);
    expect(said([20, 20, 20, 24, 25, 26])).toEqual([4, 5]);
  });

  it("is measured from what stood for two minutes, not from the first readings", () => {
    expect(said([40, 90, 100, 100, 100, 100])).toEqual([]);
  });

  it("does not chatter around its limit: it is over when half is made good", () => {
    expect(said([100, 100, 100, 116, 114, 116, 108, 107, 114])).toEqual([3, 4, 5, 6]);
  });

  it("is measured anew once someone knows it", () => {
    const slips = new Slips();
    expect(said([100, 100, 100, 120], slips)).toEqual([3]);
    slips.known("c1");
    expect(slips.of("c1", 0, stages(120), 5 * minuteMs)).toBeNull();
    expect(slips.of("c1", 0, stages(130), 8 * minuteMs)).toBeNull();
    expect(slips.of("c1", 0, stages(140), 9 * minuteMs)).toMatchObject({ stage: "sand", likelyAtMs: 140 * minuteMs });
  });

  it("is none for a step that has no time, or that nobody waits for", () => {
    const slips = new Slips();
    expect(slips.of("c1", 0, stages(null), 0)).toBeNull();
    for (const minute of [0, 5, 10])
      expect(slips.of("c1", 0, stages(100 + 10 * minute, "full-cure"), minute)).toBeNull();
  });
});
