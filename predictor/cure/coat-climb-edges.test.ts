import { describe, expect, it } from "vitest";
import { CoatClimb } from "./coat-climb.ts";
import { at, climbOf, codes, flash, ladderOf, likely, minute, setupOf } from "./example-coat.ts";

describe("the finish", () => {
  it("takes the conditions at it from the readings around it", () => {
    const around = climbOf(setupOf(), [at(-5, 10), at(5, 30), at(10, 30)]);
    const from = climbOf(setupOf(), [at(0, 20), at(5, 30), at(10, 30)]);
    likely(around).forEach((value, k) => {
      expect(value).toBeCloseTo(likely(from)[k] as number, 8);
    });
  });
  it("is reached back to by a first reading within 10 minutes, with a note", () => {
    const climb = climbOf(setupOf(), [at(10, 20)]);
    expect(likely(climb)[1]).toBeCloseTo(30, 9);
    expect(codes(climb, 10)).toContain("held-back-to-finish");
  });
  it("has no prediction without a reading at it or within 10 minutes, and says so", () => {
    const climb = climbOf(setupOf(), [at(10.1, 20), at(11, 20)]);
    expect(climb.outcome(11 * minute)).toMatchObject({
      curePercent: null,
      panelC: null,
      notes: [{ code: "no-readings" }],
    });
    expect(new CoatClimb(setupOf()).outcome(0).notes[0]?.code).toBe("no-readings");
  });
  it("is predicted from a reading before it alone, and that is marked stale after 10 minutes", () => {
    const climb = climbOf(setupOf(), [at(-2, 20)]);
    expect(likely(climb)[1]).toBeCloseTo(30, 9);
    expect(codes(climb, 3)).not.toContain("gap");
    expect(codes(climb, 9)).toContain("gap");
  });
});

describe("gaps", () => {
  it("are bridged evenly up to 10 minutes and hold the colder end when longer", () => {
    expect(codes(climbOf(setupOf(), [at(0, 20), at(10, 30)]), 10)).not.toContain("gap");
    const held = climbOf(setupOf(), [at(0, 30), at(25, 20), at(40, 20)]);
    expect(codes(held, 40)).toContain("gap");
    const cold = climbOf(setupOf(), [at(0, 20), at(5, 20)]);
    expect(likely(held)[0]).toBeCloseTo(likely(cold)[0] as number, 9);
  });
  it("judge the colder end by the air where no panel is measured", () => {
    const climb = climbOf(setupOf(), [at(0, null, { airC: 30 }), at(30, null, { airC: 15 })]);
    expect(climb.outcome(30 * minute).notes.find((note) => note.code === "gap")?.text.values?.held).toEqual({
      celsius: 15,
    });
  });
});

describe("the panel", () => {
  it("follows the air by its lag when it is not measured: 63 % of a step after one time constant", () => {
    const steps = [at(0, null, { airC: 30 }), at(5, null, { airC: 30 })];
    const outcome = climbOf(setupOf({ panelLagSeconds: 300, panelAtFinishC: 10 }), steps).outcome(5 * minute);
    expect(outcome.panelC).toBeCloseTo(30 - 20 * Math.exp(-1), 9);
    expect(outcome.panelEstimated).toBe(true);
  });
  it("follows an even change of the air by the exact solution", () => {
    const steps = [at(0, null, { airC: 20 }), at(8, null, { airC: 28 })];
    const outcome = climbOf(setupOf({ panelLagSeconds: 120 }), steps).outcome(8 * minute);
    expect(outcome.panelC).toBeCloseTo(20 + (8 - 2) + 2 * Math.exp(-4), 9);
  });
  it("keeps its temperature in a move, drifts to the new place's sensor, and takes that after five time constants", () => {
    const setup = setupOf({ panelLagSeconds: 120 });
    const climb = climbOf(setup, [at(0, 40), at(5, 40), at(5, 10, { movedIn: true })]);
    expect(climb.outcome(5 * minute).panelC).toBe(40);
    climb.append(at(7, 10));
    expect(climb.outcome(7 * minute).panelC).toBeCloseTo(10 + 30 * Math.exp(-1), 9);
    expect(climb.outcome(7 * minute).panelEstimated).toBe(true);
    for (const minutes of [9, 11, 13, 15, 17]) climb.append(at(minutes, 10));
    expect(climb.outcome(17 * minute)).toMatchObject({ panelC: 10, panelEstimated: false });
  });
  it("is held at the old place's last values until a move that comes without a reading there", () => {
    const climb = climbOf(setupOf(), [at(0, 20), at(8, 50, { movedIn: true })]);
    expect(climb.outcome(8 * minute).panelC).toBe(20);
  });
  it("jumps where two readings share an instant", () => {
    const climb = climbOf(setupOf(), [at(0, 20), at(5, 20), at(5, 30)]);
    expect(climb.outcome(5 * minute).panelC).toBe(30);
  });
});

describe("what cannot be", () => {
  it("has null times and a note for a stage that the held conditions never reach", () => {
    const damp = at(0, 10, { airC: 20, rhPercent: 95 });
    const outcome = climbOf(setupOf({ ladder: flash }), [damp]).outcome(0);
    expect(outcome.stages[0]?.likelyMinutes).toBeGreaterThan(0);
    expect(outcome.stages[1]).toMatchObject({ likelyAtMs: null, safeMinutes: null, reached: false });
    expect(outcome.notes.filter((note) => note.code === "stage-never-reached")).toHaveLength(3);
  });
  it("has no safe time where only a panel as warm as it seems gets there", () => {
    const air = at(0, 15.97, { airC: 20, rhPercent: 76.5 });
    const stage = climbOf(setupOf({ ladder: flash }), [air]).outcome(0).stages[1];
    expect(stage?.likelyMinutes).toBeGreaterThan(0);
    expect(stage?.safeMinutes).toBeNull();
  });
  it("keeps the safe time of a stage that a panel a little colder has not left long after the likely rates have", () => {
    const onlyWater = ladderOf([
      { stage: "overcoat", minutesAtC: { 20: 14 }, by: "water" },
      { stage: "full-cure", minutesAtC: { 20: 7200 } },
    ]);
    // a panel 0.3 K colder is wet until day 10; the likely rates would have climbed the stage many times over by then
    const climb = new CoatClimb(setupOf({ ladder: onlyWater, sheetSigma: 0 }));
    const feed = (from: number, to: number, tempC: number, rhPercent: number) => {
      for (let minutes = from; minutes < to; minutes += 9) climb.append(at(minutes, tempC, { rhPercent }));
    };
    feed(0, 7200, 20, 99.9);
    feed(7200, 14_400, 60, 99);
    feed(14_400, 14_580, 20, 50);
    const safe = climb.outcome(14_580 * minute).stages[0]?.safeMinutes as number;
    feed(14_580, 30_000, 20, 50);
    expect(safe).toBeGreaterThan(0);
    expect((climb.outcome(30_000 * minute).stages[0]?.safeMinutes as number) / safe).toBeCloseTo(1, 5);
  });
  it("says when the panel was outside the temperatures of the sheet", () => {
    expect(codes(climbOf(setupOf(), [at(0, 19.9)]), 0)).toContain("outside-sheet");
    expect(codes(climbOf(setupOf(), [at(0, 20), at(5, 60)]), 5)).not.toContain("outside-sheet");
  });
});
