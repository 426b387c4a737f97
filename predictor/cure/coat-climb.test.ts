import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { ClimateReading } from "./climb.ts";
import { CoatClimb } from "./coat-climb.ts";
import { at, clear, climbOf, flash, likely, minute, setupOf } from "./example-coat.ts";

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

  it("tells of its course what it told as of each instant, and nothing before the finish", () => {
    const climb = climbOf(setupOf({ ladder: clear }), [
      { atMs: 0, airC: 12, rhPercent: 50 },
      { atMs: 9 * minute, airC: 25, rhPercent: 40 },
      { atMs: 18 * minute, airC: 21, rhPercent: 60, panelC: 19 },
    ]);
    const instants = [0, 4, 9.5, 18, 40].map((minutes) => minutes * minute);
    const said = instants
      .map((atMs) => climb.outcome(atMs))
      .map(({ panelC, curePercent }) => ({ panelC, curePercent }));
    expect(climb.course(instants)).toEqual(said);
    expect(climb.course([-minute])).toEqual([null]);
    expect(new CoatClimb(setupOf({ ladder: clear })).course(instants)).toEqual(instants.map(() => null));
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
