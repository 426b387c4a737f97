import { describe, expect, it } from "vitest";
import { ladderOf, sheetOf as sheet } from "./example-coat.ts";
import { readSheet } from "./ladder.ts";
import { gasConstantJPerMolK, minutesAt } from "./time-curve.ts";

const faultsOf = (input: unknown) => {
  const read = readSheet(input);
  return "faults" in read ? read.faults : [];
};

describe("the ladder of a sheet", () => {
  it("gives each rung the difference of two stages at every temperature of the sheet", () => {
    const { rungs, anchorsC } = ladderOf([
      { stage: "sand", minutesAtC: { 20: 20, 60: 5 } },
      { stage: "polish", minutesAtC: { 20: 60, 40: 25, 60: 12 } },
    ]);
    expect(anchorsC).toEqual([20, 40, 60]);
    const polish = rungs[1];
    if (!polish) throw new Error("no second rung");
    expect(minutesAt(polish.curve, 20)).toBeCloseTo(40, 10);
    expect(minutesAt(polish.curve, 60)).toBeCloseTo(7, 10);
    // sand at 40 °C lies on the line of ln(minutes) over 1/T between 20 and 60 °C
    const share = (1 / 313.15 - 1 / 293.15) / (1 / 333.15 - 1 / 293.15);
    expect(minutesAt(polish.curve, 40)).toBeCloseTo(25 - 20 * (5 / 20) ** share, 10);
  });
  it("takes the slope of a single temperature from the activation energy", () => {
    const { rungs } = ladderOf([{ stage: "full-cure", minutesAtC: { 20: 600 } }], { activationEnergyKJ: 60 });
    const factor = Math.exp((60_000 / gasConstantJPerMolK) * (1 / 293.15 - 1 / 303.15));
    expect(minutesAt((rungs[0] as (typeof rungs)[0]).curve, 30)).toBeCloseTo(600 / factor, 9);
  });
  it("adds full cure at 7 days at 20 °C where the sheet has none", () => {
    const { rungs } = ladderOf([{ stage: "sand", minutesAtC: { 20: 20 } }]);
    expect(rungs.map((rung) => rung.stage)).toEqual(["sand", "full-cure"]);
    expect(rungs.reduce((sum, rung) => sum + rung.minutesAt20C, 0)).toBeCloseTo(10_080, 8);
  });
  it("lets a stage's own humidity sensitivity override the sheet's, and the sheet's film exponent the usual ones", () => {
    const stages = [
      { stage: "touch-dry", minutesAtC: { 20: 5 }, by: "solvent" },
      { stage: "sand", minutesAtC: { 20: 20 }, humiditySensitivity: 0.2 },
    ];
    expect(ladderOf(stages, { humiditySensitivity: 0.1 }).rungs.map((rung) => rung.humiditySensitivity)).toEqual([
      0.1, 0.2, 0.1,
    ]);
    expect(ladderOf(stages).rungs.map((rung) => rung.filmExponent)).toEqual([1.5, 1, 1]);
    expect(ladderOf(stages, { filmExponent: 2 }).rungs.map((rung) => rung.filmExponent)).toEqual([2, 2, 2]);
  });
});

describe("a sheet that does not hold together", () => {
  it("is refused with both stages and the temperature where a later stage is not later", () => {
    const faults = faultsOf(
      sheet([
        { stage: "sand", minutesAtC: { 20: 20, 60: 5 } },
        { stage: "polish", minutesAtC: { 20: 60, 60: 4 } },
      ]),
    );
    expect(faults).toMatchObject([
      { path: "stages.1.minutesAtC", expected: "polish later than sand at 60 °C", found: "4 min against 5 min" },
    ]);
    const values = { minutes: 4, than: 5, at: { celsius: 60 }, stage: { prefix: "stage", name: "polish" } };
    expect(faults[0]?.text).toMatchObject({ key: "sheet-fault.later", values });
  });
  it("is refused where water or solvent has two temperatures", () => {
    const [fault] = faultsOf(sheet([{ stage: "overcoat", minutesAtC: { 20: 12, 40: 5 }, by: "water" }]));
    expect(fault).toMatchObject({ path: "stages.0.minutesAtC", found: "20 °C, 40 °C" });
  });
  it("is refused with all its faults at once", () => {
    const faults = faultsOf(
      sheet([
        { stage: "full-cure", minutesAtC: { 20: 100 }, curePercent: 90 },
        { stage: "sand", minutesAtC: { 20: 20, "20.0": 21 }, curePercent: 95 },
        { stage: "sand", minutesAtC: { 20: 30 }, curePercent: 80 },
      ]),
    );
    expect(faults.map((fault) => fault.path)).toEqual([
      "stages.0.stage",
      "stages.0.curePercent",
      "stages.2.stage",
      "stages.2.curePercent",
      "stages.1.minutesAtC",
      "stages.1.minutesAtC",
    ]);
  });
  it("names key, expectation and finding for what has the wrong form, unknown keys too", () => {
    const faults = faultsOf(sheet([{ stage: "sandd", minutesAtC: { 20: -1 }, colour: "red" }], { revision: 0 }));
    expect(faults.map((fault) => fault.path)).toEqual(
      expect.arrayContaining(["revision", "stages.0.stage", "stages.0.minutesAtC.20", "stages.0.colour"]),
    );
    expect(faults.find((fault) => fault.path === "stages.0.stage")?.found).toBe('"sandd"');
  });
  it("is refused when it is no sheet at all", () => {
    for (const nothing of [undefined, null, 5, "sheet", []]) expect(faultsOf(nothing)).not.toEqual([]);
  });
});
