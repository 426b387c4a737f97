import { describe, expect, it } from "vitest";
import type { FaultLine } from "../faults.ts";
import { percentWithin, spreadPercents } from "./percent.ts";

describe("percentage along the ladder", () => {
  it("takes the usual percentages where the sheet gives none", () => {
    expect(spreadPercents([{ stage: "touch-dry" }, { stage: "polish" }, { stage: "full-cure" }], [])).toEqual([
      10, 70, 100,
    ]);
  });
  it("spreads equal usual percentages evenly up to the next", () => {
    expect(spreadPercents([{ stage: "sand" }, { stage: "demask" }, { stage: "assemble" }], [])).toEqual([50, 55, 60]);
  });
  it("lets a stage without a percentage make way for one that is given", () => {
    expect(
      spreadPercents([{ stage: "sand", curePercent: 50 }, { stage: "demask" }, { stage: "full-cure" }], []),
    ).toEqual([50, 75, 100]);
  });
  it("faults given percentages that do not rise, naming the stage's place", () => {
    const faults: FaultLine[] = [];
    spreadPercents(
      [
        { stage: "sand", curePercent: 50 },
        { stage: "polish", curePercent: 50 },
      ],
      faults,
    );
    expect(faults).toMatchObject([{ path: "stages.1.curePercent", expected: "more than 50", found: "50" }]);
  });
  it("runs as a second-order reaction inside a rung: half of 1/(1−α) at half way", () => {
    const half = percentWithin(0, 100, 0.5);
    expect(1 / (1 - 0.95 * (half / 100))).toBeCloseTo((1 + 1 / 0.05) / 2, 10);
    expect(percentWithin(18, 45, 0)).toBeCloseTo(18, 10);
    expect(percentWithin(18, 45, 1)).toBeCloseTo(45, 10);
  });
});
