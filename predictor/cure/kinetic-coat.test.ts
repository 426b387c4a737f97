import { expect, it } from "vitest";
import { at, climbOf, codes, glassy, minute, setupOf, sheetOf } from "./example-coat.ts";
import { readSheet } from "./ladder.ts";

const readings = (panelC: number) => [at(0, panelC), at(60, panelC)];
const kinetics = {
  model: "nth-order",
  reaction: { preExponentialPerSecond: 2e5, activationEnergyKJ: 50 },
  order: 2,
  validC: { min: 10, max: 60 },
};

it("a coat with kinetics comes to its stages, safe after likely, its percentage rising", () => {
  const outcome = climbOf(setupOf({ ladder: glassy }), readings(60)).outcome(60 * minute);
  expect(outcome.stages.map(({ stage }) => stage)).toEqual(["demask", "polish", "full-cure"]);
  const [demask, polish] = outcome.stages;
  expect(demask?.likelyMinutes).toBeGreaterThan(0);
  expect(demask?.safeMinutes).toBeGreaterThan(demask?.likelyMinutes ?? Number.NaN);
  expect(polish?.likelyMinutes).toBeGreaterThan(demask?.safeMinutes ?? Number.NaN);
  expect(outcome.curePercent).toBeGreaterThan(45);
});
it("a coat that turns to glass says where it stops until it is warmer, and goes on when it is", () => {
  const cold = climbOf(setupOf({ ladder: glassy }), readings(5));
  const notes = cold.outcome(60 * minute).notes;
  expect(notes.find(({ code }) => code === "stalled")?.text).toEqual({
    key: "model-note.stalled",
    values: { percent: expect.toSatisfy((percent) => Number.isInteger(percent) && percent > 9 && percent < 100) },
  });
  const warmer = cold.outcome(60 * minute, { likely: [at(60, 60), at(6000, 60)] });
  expect(warmer.stages[1]?.likelyMinutes).toBeGreaterThan(60);
  expect(warmer.notes.map(({ code }) => code)).not.toContain("stalled");
});
it("a coat with kinetics tells the factor of a check, and is marked outside the temperatures measured", () => {
  const climb = climbOf(setupOf({ ladder: glassy }), readings(30));
  const likelyMs = (climb.outcome(0).stages[0]?.likelyMinutes ?? 0) * minute;
  expect(climb.lnFactorReaching("demask", likelyMs)).toBeCloseTo(0, 6);
  expect(codes(climbOf(setupOf({ ladder: glassy }), readings(5)), 60)).toContain("outside-sheet");
});
it("a sheet with kinetics gives percentages and no minutes, one without gives minutes", () => {
  const faultsOf = (stages: object[], more: object) => {
    const read = readSheet(sheetOf(stages, more));
    return "faults" in read ? read.faults.map(({ path }) => path) : [];
  };
  expect(faultsOf([{ stage: "sand", minutesAtC: { 20: 30 } }], { kinetics })).toEqual([
    "stages.0.minutesAtC",
    "stages.0.curePercent",
  ]);
  expect(faultsOf([{ stage: "sand" }], {})).toEqual(["stages.0.minutesAtC"]);
  const gel = { functionalityA: 3, functionalityB: 2 };
  expect(faultsOf([{ stage: "sand", curePercent: 20 }], { kinetics: { ...kinetics, gel } })).toEqual([
    "stages.0.curePercent",
  ]);
});
