import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { ClimateReading, CoatSetup } from "./climb.ts";
import { CoatClimb } from "./coat-climb.ts";
import { type Ladder, readSheet } from "./ladder.ts";

const minute = 60_000;

function ladderOf(stages: unknown[], more: object = {}): Ladder {
  const read = readSheet({
    id: "invented",
    revision: 1,
    name: "Invented",
    kind: "clearcoat",
    film: { dryUm: 50 },
    stages,
    ...more,
  });
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  return read.ladder;
}

const clear = ladderOf([
  { stage: "dust-free", minutesAtC: { 20: 9, 60: 2.2 }, curePercent: 18 },
  { stage: "demask", minutesAtC: { 20: 30, 40: 13, 60: 6 }, curePercent: 45 },
  { stage: "polish", minutesAtC: { 20: 60, 60: 12 }, curePercent: 66, humiditySensitivity: 0.2 },
  { stage: "full-cure", minutesAtC: { 20: 10080, 60: 1440 } },
]);
const flash = ladderOf([
  { stage: "touch-dry", minutesAtC: { 20: 6 }, by: "solvent" },
  { stage: "overcoat", minutesAtC: { 20: 14 }, by: "water" },
  { stage: "sand", minutesAtC: { 20: 60, 5: 200 }, by: "moisture" },
  { stage: "full-cure", minutesAtC: { 20: 7200 } },
]);

const setupOf = (more: Partial<CoatSetup> = {}): CoatSetup => ({
  ladder: clear,
  finishedAtMs: 0,
  substrate: "steel",
  ...more,
});
const at = (minutes: number, panelC: number | null, more: Partial<ClimateReading> = {}): ClimateReading => ({
  atMs: minutes * minute,
  airC: panelC ?? 20,
  rhPercent: 50,
  panelC,
  ...more,
});
function climbOf(setup: CoatSetup, readings: ClimateReading[]): CoatClimb {
  const climb = new CoatClimb(setup);
  for (const reading of readings) climb.append(reading);
  return climb;
}
const likely = (climb: CoatClimb, asOfMinutes = 0) =>
  climb.outcome(asOfMinutes * minute).stages.map((stage) => stage.likelyMinutes);
const codes = (climb: CoatClimb, asOfMinutes: number) =>
  climb.outcome(asOfMinutes * minute).notes.map((note) => note.code);

describe("at a constant temperature", () => {
  it("gives the sheet back on each of its temperatures", () => {
    const anchors = [
      { tempC: 20, minutes: [9, 30, 60, 10080] },
      { tempC: 60, minutes: [2.2, 6, 12, 1440] },
    ];
    for (const { tempC, minutes } of anchors) {
      const climb = climbOf(setupOf(), [at(0, tempC), at(4, tempC), at(11, tempC)]);
      likely(climb).forEach((value, k) => {
        expect((value as number) / (minutes[k] as number)).toBeCloseTo(1, 12);
      });
      const outcome = climb.outcome((minutes[1] as number) * minute);
      expect(outcome.curePercent).toBeCloseTo(45, 6);
      expect(outcome.equivalentMinutes).toBeCloseTo(30, 6);
    }
  });
  it("scales with the film build and with the factor learned from checks", () => {
    const thick = climbOf(setupOf({ filmUm: 75, rateFactor: 0.9 }), [at(0, 20)]);
    expect(likely(thick)[1]).toBeCloseTo((30 * 1.5) / 0.9, 8);
  });
  it("makes safe later than likely by 1.2816 standard deviations of ln(time) when the panel is known exactly", () => {
    const stage = climbOf(setupOf({ temperatureUncertaintyC: 0, sheetSigma: 0.2 }), [at(0, 20)]).outcome(0).stages[3];
    expect((stage?.safeMinutes as number) / (stage?.likelyMinutes as number)).toBeCloseTo(Math.exp(1.2816 * 0.2), 10);
  });
  it("gives reference conditions their own minutes as equivalent age, whatever a stage waits for", () => {
    const climb = climbOf(setupOf({ ladder: flash }), [at(0, 20, { airSpeedMps: 0.2 })]);
    for (const minutes of [3, 10, 40, 700]) {
      expect(climb.outcome(minutes * minute).equivalentMinutes).toBeCloseTo(minutes, 7);
    }
  });
});

const readingsArbitrary = fc
  .array(
    fc.record({
      wait: fc.oneof(
        fc.constant(0),
        fc.double({ min: 0.1, max: 9, noNaN: true }),
        fc.double({ min: 11, max: 90, noNaN: true }),
      ),
      airC: fc.double({ min: -5, max: 65, noNaN: true }),
      rhPercent: fc.double({ min: 0, max: 100, noNaN: true }),
      panelC: fc.option(fc.double({ min: -5, max: 70, noNaN: true })),
      movedIn: fc.boolean(),
      airSpeedMps: fc.double({ min: 0, max: 1, noNaN: true }),
    }),
    { minLength: 2, maxLength: 40 },
  )
  .map((steps) => {
    let minutes = -3;
    return steps.map(({ wait, ...rest }, index): ClimateReading => {
      if (index > 0) minutes += wait;
      return { ...rest, atMs: Math.round(minutes * minute) };
    });
  });
const ladders = fc.constantFrom(clear, flash);

describe("reading by reading", () => {
  it("comes to the very numbers that a climb from scratch comes to, whenever it is asked in between", () => {
    fc.assert(
      fc.property(
        ladders,
        readingsArbitrary,
        fc.array(fc.boolean(), { minLength: 40, maxLength: 40 }),
        (ladder, readings, asks) => {
          const asked = new CoatClimb(setupOf({ ladder }));
          readings.forEach((reading, index) => {
            asked.append(reading);
            if (asks[index]) {
              const soFar = climbOf(setupOf({ ladder }), readings.slice(0, index + 1));
              expect(asked.outcome(reading.atMs)).toEqual(soFar.outcome(reading.atMs));
            }
          });
          const asOf = (readings[readings.length - 1] as ClimateReading).atMs;
          expect(asked.outcome(asOf)).toEqual(climbOf(setupOf({ ladder }), readings).outcome(asOf));
        },
      ),
      { numRuns: 150 },
    );
  });

  it("never falls back in percentage or equivalent age, and keeps stages in order with safe after likely", () => {
    fc.assert(
      fc.property(ladders, readingsArbitrary, (ladder, readings) => {
        const climb = climbOf(setupOf({ ladder }), readings);
        let before = climb.outcome(0);
        for (let minutes = 5; minutes < 3000; minutes *= 1.3) {
          const now = climb.outcome(minutes * minute);
          if (now.curePercent === null || before.curePercent === null) return;
          expect(now.curePercent).toBeGreaterThanOrEqual(before.curePercent - 1e-9);
          expect(now.equivalentMinutes ?? 0).toBeGreaterThanOrEqual((before.equivalentMinutes ?? 0) - 1e-9);
          before = now;
        }
        before.stages.forEach((stage, k) => {
          const below = before.stages[k - 1];
          if (stage.likelyMinutes === null) return;
          expect(stage.likelyMinutes).toBeGreaterThanOrEqual(below?.likelyMinutes ?? 0);
          if (stage.safeMinutes !== null) expect(stage.safeMinutes).toBeGreaterThanOrEqual(stage.likelyMinutes);
        });
      }),
      { numRuns: 150 },
    );
  });

  it("does not depend on how finely an even change is sampled", () => {
    const ramp = (steps: number) =>
      Array.from({ length: steps + 1 }, (_, i) =>
        at((9 * i) / steps, 18 + (7 * i) / steps, { airC: 19 + (9 * i) / steps, rhPercent: 90 }),
      );
    const coarse = likely(climbOf(setupOf(), ramp(1)));
    const fine = likely(climbOf(setupOf(), ramp(54)));
    coarse.forEach((value, k) => {
      expect((value as number) / (fine[k] as number)).toBeCloseTo(1, 4);
    });
  });

  it("keeps a week of readings every 10 s in less than 600 kB, and no more rows for the second half than for the first", () => {
    const climb = new CoatClimb(setupOf());
    let half = 0;
    for (let i = 0; i < 60_480; i++) {
      if (i === 30_240) half = climb.historyBytes;
      climb.append(at(i / 6, 20 + 3 * Math.sin(i / 1400) + 0.05 * Math.sin(i * 1.7), { rhPercent: 55 }));
    }
    expect(climb.historyBytes).toBeLessThan(600_000);
    expect(climb.historyBytes).toBeLessThanOrEqual(2 * half);
  });

  it("reads instants off its thinned history within 3e-6 of those solved on the way, over a noisy week", () => {
    // with nothing uncertain, safe is likely by another way: from the history instead of from the run
    const climb = new CoatClimb(setupOf({ sheetSigma: 0, temperatureUncertaintyC: 0 }));
    for (let i = 0; i < 90_000; i++) {
      const noise = 0.1 * Math.sin(i * 12.9898) + 0.1 * Math.sin(i * 78.233);
      climb.append(at(i / 6, 21 + 4 * Math.sin(i / 1400) + noise, { rhPercent: 55 + 9 * Math.sin(i / 900) }));
    }
    const { stages } = climb.outcome(15_000 * minute);
    expect(stages.every((stage) => stage.reached)).toBe(true);
    for (const { likelyMinutes, safeMinutes } of stages) {
      expect(Math.abs((safeMinutes as number) / (likelyMinutes as number) - 1)).toBeLessThan(3e-6);
    }
  });

  it("refuses a reading older than the last one, and values that cannot be", () => {
    const climb = climbOf(setupOf(), [at(0, 20), at(5, 20)]);
    expect(() => climb.append(at(4, 20))).toThrow(RangeError);
    for (const wrong of [
      { airC: Number.NaN },
      { rhPercent: 101 },
      { panelC: 500 },
      { airSpeedMps: -1 },
      { atMs: Number.NaN },
    ]) {
      expect(() => climb.append({ ...at(6, 20), ...wrong })).toThrow(RangeError);
    }
    expect(climb.lastReadingAtMs).toBe(5 * minute);
    expect(() => climb.outcome(Number.NaN)).toThrow(RangeError);
    expect(() => new CoatClimb(setupOf({ filmUm: 0 }))).toThrow(RangeError);
    expect(() => new CoatClimb(setupOf({ rateFactor: Number.NaN }))).toThrow(RangeError);
  });
});

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
    expect(climb.outcome(30 * minute).notes.find((note) => note.code === "gap")?.text).toContain("15.0 °C");
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
    expect([climb.coldestC, climb.warmestC]).toEqual([20, 30]);
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
  it("says when the panel was outside the temperatures of the sheet", () => {
    expect(codes(climbOf(setupOf(), [at(0, 19.9)]), 0)).toContain("outside-sheet");
    expect(codes(climbOf(setupOf(), [at(0, 20), at(5, 60)]), 5)).not.toContain("outside-sheet");
  });
});
