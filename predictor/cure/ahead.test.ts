import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { ClimateReading } from "./climb.ts";
import { CoatClimb } from "./coat-climb.ts";
import { at, clear, climbOf, flash, ladderOf, minute, setupOf } from "./example-coat.ts";

const stageOf = (climb: CoatClimb, k: number, asOfMinutes: number, ahead?: Parameters<CoatClimb["outcome"]>[1]) => {
  const stage = climb.outcome(asOfMinutes * minute, ahead).stages[k];
  if (stage === undefined) throw new Error(`no stage ${k}`);
  return stage;
};

describe("conditions to come", () => {
  it("give the same times as the same readings once they have come", () => {
    const toCome = [at(20, 22), at(50, 14), at(50, 60), at(70, 60), at(90, 18)];
    const looking = climbOf(setupOf(), [at(0, 20), at(10, 21)]);
    const foreseen = looking.outcome(0, { likely: toCome });
    const bridged = toCome.flatMap((reading, index) => between(toCome[index - 1] ?? at(10, 21), reading));
    const had = climbOf(setupOf(), [at(0, 20), at(10, 21), ...bridged]).outcome(0);
    for (const [k, stage] of foreseen.stages.entries()) {
      expect(stage.likelyMinutes).toBeCloseTo(had.stages[k]?.likelyMinutes ?? Number.NaN, 5);
      expect(stage.safeMinutes).toBeCloseTo(had.stages[k]?.safeMinutes ?? Number.NaN, 3);
    }
  });
  it("leave the climb as it was", () => {
    const plan = { likely: [at(30, 5, { movedIn: true }), at(60, 40)], cold: [at(40, 2)] };
    const asked = climbOf(setupOf(), [at(0, 20), at(10, 21)]);
    const never = climbOf(setupOf(), [at(0, 20), at(10, 21)]);
    asked.outcome(10 * minute, plan);
    expect(asked.outcome(10 * minute)).toEqual(never.outcome(10 * minute));
    for (const climb of [asked, never]) for (const minutes of [15, 21, 40]) climb.append(at(minutes, 19));
    expect(asked.outcome(40 * minute)).toEqual(never.outcome(40 * minute));
  });
  it("move the car with its panel's temperature", () => {
    const climb = climbOf(setupOf({ panelLagSeconds: 600 }), [at(0, 20)]);
    const moved = climb.outcome(40 * minute, { likely: [at(30, 5, { movedIn: true }), at(600, 5)] });
    expect(moved.panelC).toBeCloseTo(5 + 15 * Math.exp(-1), 1);
  });
  it("tell how far a coat will be at an instant to come", () => {
    const climb = climbOf(setupOf(), [at(0, 20)]);
    expect(climb.outcome(30 * minute, { likely: [at(60, 20)] }).curePercent).toBeCloseTo(45, 6);
  });
  it("carry a coat past a finish that itself lies ahead", () => {
    const setup = setupOf({ finishedAtMs: 60 * minute });
    const climb = climbOf(setup, [at(0, 20)]);
    const outcome = climb.outcome(0, { likely: [at(30, 10), at(90, 10), at(900, 10)] });
    const cold = climbOf(setupOf(), [at(0, 10)]).outcome(0);
    expect(outcome.stages[1]?.likelyMinutes).toBeCloseTo(cold.stages[1]?.likelyMinutes ?? Number.NaN, 6);
  });
  it("put safe later by what the cold edge of the forecast costs", () => {
    const climb = climbOf(setupOf({ temperatureUncertaintyC: 0, sheetSigma: 0 }), [at(0, 20)]);
    const likely = [at(10, 20), at(600, 20)];
    expect(stageOf(climb, 1, 0, { likely, cold: likely }).safeMinutes).toBeCloseTo(30, 9);
    const cold = [at(0, 15), at(600, 15)];
    const alongCold = stageOf(climb, 1, 0, { likely: cold }).likelyMinutes;
    // With nothing else uncertain, nine times in ten means the cold edge itself.
    expect(stageOf(climb, 1, 0, { likely, cold }).safeMinutes).toBeCloseTo(alongCold ?? Number.NaN, 6);
  });
});

describe("below what the sheet covers", () => {
  const readings = [at(0, 12), at(60, 12)];
  it("a stage is marked from 2 K below the sheet's lowest temperature down, and from 2 K above its highest up", () => {
    const covered = (panelC: number, ladder = clear) =>
      stageOf(climbOf(setupOf({ ladder }), [at(0, panelC)]), 1, 0).isCovered;
    expect([17.9, 18, 62, 62.1].map((panelC) => covered(panelC))).toEqual([false, true, true, false]);
    const withLeast = ladderOf([{ stage: "sand", minutesAtC: { 10: 60, 20: 30 } }], {
      limits: { panelC: { min: 15 } },
    });
    expect([14.9, 15].map((panelC) => covered(panelC, withLeast))).toEqual([false, true]);
  });
  it("safe widens by what an activation energy uncertain by so much makes of the coldest panel", () => {
    const plain = stageOf(climbOf(setupOf(), readings), 1, 60);
    const wide = stageOf(climbOf(setupOf({ coldEnergyKJ: 10 }), readings), 1, 60);
    expect(wide.likelyMinutes).toBe(plain.likelyMinutes);
    const sigmaOf = (stage: typeof wide) => Math.log((stage.safeMinutes ?? 0) / (stage.likelyMinutes ?? 1)) / 1.2816;
    const ofCold = (10_000 / 8.314462618) * (1 / 285.15 - 1 / 291.15);
    expect(sigmaOf(wide)).toBeCloseTo(Math.hypot(sigmaOf(plain), ofCold), 6);
  });
  it("a stage that was reached before it turned cold is as sure as it was", () => {
    const later = [at(0, 20), at(60, 20), at(60, 5), at(90, 5)];
    const stage = (coldEnergyKJ: number) => stageOf(climbOf(setupOf({ coldEnergyKJ }), later), 1, 90);
    expect(stage(10)).toEqual(stage(0));
  });
});

describe("what was learned", () => {
  it("keeps safe from going below the sheet's own minutes at the warmest panel", () => {
    const lesson = { rateFactor: 1.5, sheetSigma: 0.02 };
    const safeOf = (more: object, readings: ClimateReading[] = [at(0, 20)]) =>
      stageOf(climbOf(setupOf({ ...lesson, ...more }), readings), 1, 0).safeMinutes ?? Number.NaN;
    expect(safeOf({})).toBeLessThan(22);
    expect(safeOf({ keepsToSheet: true })).toBeCloseTo(30, 6);
    expect(safeOf({ keepsToSheet: true, rateFactor: 0.8 })).toBe(safeOf({ rateFactor: 0.8 }));
    // Warmer at the start than later: the floor is that of the warm end.
    expect(safeOf({ keepsToSheet: true }, [at(0, 40), at(1, 20)])).toBeLessThan(30);
  });
  it("tells the factor that would have put a stage at an instant", () => {
    const climb = climbOf(setupOf(), [at(0, 20)]);
    expect(climb.lnFactorReaching("demask", 30 * minute)).toBeCloseTo(0, 8);
    expect(climb.lnFactorReaching("demask", 24 * minute)).toBeCloseTo(Math.log(30 / 24), 8);
    expect(climb.lnFactorReaching("sand", 24 * minute)).toBeNull();
    expect(climb.lnFactorReaching("demask", 0)).toBeNull();
    expect(climb.lnFactorReaching("demask", 0.001 * minute)).toBeCloseTo(4, 6);
  });
});

describe("windows that run with the panel's temperature", () => {
  const ladder = ladderOf([{ stage: "overcoat", minutesAtC: { 20: 20 } }], {
    activationEnergyKJ: 50,
    windows: [
      { for: "overcoat", closesAfterMinutes: 60, atC: 20, ifMissed: "sand it" },
      { for: "overcoat", closesAfterMinutes: 60, ifMissed: "sand it" },
      { for: "overcoat", closesAt: "full-cure", ifMissed: "sand it" },
    ],
  });
  const closesAt = (panelC: number) =>
    climbOf(setupOf({ ladder }), [at(0, panelC)])
      .outcome(0)
      .windowClosesAtMs.map((ms) => (ms ?? 0) / minute);
  it("close by the sheet's minutes at their temperature, later in the cold and sooner in the warm; by the clock without", () => {
    expect(closesAt(20).slice(0, 2)).toEqual([60, 60]);
    // Derived: 1.96735 is the age factor of 30 °C against 20 °C at 50 kJ/mol.
    expect(closesAt(30)[0]).toBeCloseTo(60 / 1.96735, 3);
    expect(closesAt(10)[0]).toBeGreaterThan(110);
    expect(closesAt(10)[1]).toBe(60);
  });
  it("need a prediction; those by the clock do not", () => {
    const unread = new CoatClimb(setupOf({ ladder })).outcome(0);
    expect(unread.windowClosesAtMs).toEqual([null, 60 * minute, null]);
  });
});

describe("whatever the history", () => {
  const history = fc.array(
    fc.record({ step: fc.integer({ min: 1, max: 30 }), panelC: fc.double({ min: 2, max: 60, noNaN: true }) }),
    {
      minLength: 1,
      maxLength: 20,
    },
  );
  const ladders = [clear, flash];
  const readingsOf = (steps: { step: number; panelC: number }[], warmerC = 0): ClimateReading[] => {
    let minutes = -1;
    return [{ step: 1, panelC: steps[0]?.panelC ?? 20 }, ...steps].map(({ step, panelC }) => {
      minutes += step;
      return at(minutes, panelC + warmerC, { airC: panelC + warmerC });
    });
  };
  const timesOf = (climb: CoatClimb) =>
    climb.outcome(600 * minute).stages.flatMap((stage) => [stage.likelyMinutes ?? 1e12, stage.safeMinutes ?? 1e12]);

  it("warmer is never later", () => {
    fc.assert(
      fc.property(history, fc.double({ min: 0, max: 10, noNaN: true }), (steps, warmerC) => {
        const cold = timesOf(climbOf(setupOf(), readingsOf(steps)));
        const warm = timesOf(climbOf(setupOf(), readingsOf(steps, warmerC)));
        for (const [index, minutes] of warm.entries())
          expect(minutes).toBeLessThanOrEqual((cold[index] ?? 0) * (1 + 1e-9));
      }),
    );
  });
  it("thicker is never earlier", () => {
    fc.assert(
      fc.property(
        history,
        fc.double({ min: 1, max: 4, noNaN: true }),
        fc.constantFrom(...ladders),
        (steps, times, ladder) => {
          const thin = timesOf(climbOf(setupOf({ ladder, filmUm: 50 }), readingsOf(steps)));
          const thick = timesOf(climbOf(setupOf({ ladder, filmUm: 50 * times }), readingsOf(steps)));
          for (const [index, minutes] of thick.entries())
            expect(minutes).toBeGreaterThanOrEqual((thin[index] ?? 0) * (1 - 1e-9));
        },
      ),
    );
  });
  it("stages keep their order, and safe is never before likely", () => {
    fc.assert(
      fc.property(
        history,
        fc.constantFrom(...ladders),
        fc.double({ min: 0, max: 2, noNaN: true }),
        (steps, ladder, temperatureUncertaintyC) => {
          const { stages } = climbOf(setupOf({ ladder, temperatureUncertaintyC }), readingsOf(steps)).outcome(0);
          for (const [k, { likelyMinutes, safeMinutes }] of stages.entries()) {
            expect(safeMinutes ?? 1e12).toBeGreaterThanOrEqual(likelyMinutes ?? 1e12);
            expect(likelyMinutes ?? 1e12).toBeGreaterThanOrEqual(stages[k - 1]?.likelyMinutes ?? 0);
          }
        },
      ),
    );
  });
});

/** Readings no more than 10 minutes apart on the even way from one to the other; the two themselves where they share an instant. */
function between(from: ClimateReading, to: ClimateReading): ClimateReading[] {
  const parts = Math.max(1, Math.ceil((to.atMs - from.atMs) / (10 * minute)));
  const panelOf = (reading: ClimateReading) => reading.panelC ?? reading.airC;
  return Array.from({ length: parts }, (_, index) => {
    const x = (index + 1) / parts;
    const panelC = panelOf(from) + x * (panelOf(to) - panelOf(from));
    return at((from.atMs + x * (to.atMs - from.atMs)) / minute, panelC, {
      airC: from.airC + x * (to.airC - from.airC),
    });
  });
}
