import { describe, expect, it } from "vitest";
import { handling, hour, minute, settings, sheetWith, steady, toyCoat } from "./example-plan.ts";
import type { PlanStep } from "./plan-step.ts";
import { type WhatIf, type WhatIfQuestion, whatIf } from "./what-if.ts";

const windows = [
  { for: "basecoat", opensAt: "overcoat", closesAfterMinutes: 120, ifMissed: "sand" },
  { for: "sealer", opensAt: "overcoat", closesAt: "sand", ifMissed: "wait and sand" },
];
const places = { booth: steady(20, { airHandling: handling }), yard: steady(10) };
const coat = { id: "door", climb: toyCoat(), sheet: sheetWith({ windows }), finishedAtMs: 0 };
const question: WhatIfQuestion = { coats: [coat], start: { place: "booth", nowMs: 0 }, places, steps: [] };
const ask = (steps: PlanStep[], more: Partial<WhatIfQuestion> = {}): WhatIf => {
  const answer = whatIf({ ...question, ...more, steps });
  if ("faults" in answer) throw new Error(JSON.stringify(answer.faults));
  return answer;
};
const bake: PlanStep = { kind: "bake", atMs: 10 * minute, bakeC: 60, minutes: 5 };

describe("what if", () => {
  it("changes nothing without a plan, and nothing with a move to where the car stands", () => {
    const none = ask([], { energy: { settings, outdoorC: 0 } });
    expect(none.coats[0]?.stages.map(({ safeEarlierMinutes }) => safeEarlierMinutes)).toEqual([0, 0, 0]);
    expect(none.coats[0]).toMatchObject({ windowsMissed: [], notes: [], nextStage: "overcoat", goal: "overcoat" });
    expect(none.energy?.plan).toEqual(none.energy?.asThingsStand);
    const home = ask([{ kind: "move", atMs: 0, place: "booth" }], { energy: { settings, outdoorC: 0 } });
    expect(home).toEqual(none);
  });
  it("tells each stage's times as things stand and under the plan, and how much earlier it is safe", () => {
    // By the toy's rule 5 min at 60 °C are 80 min at 20 °C: 10 + 80 at the end of the bake.
    const [door] = ask([bake]).coats;
    expect(door?.stages.map((stage) => stage.asThingsStand.safeAtMs)).toEqual([25, 75, 1800].map((m) => m * minute));
    expect(door?.stages.map((stage) => (stage.plan.safeAtMs ?? 0) / minute)).toEqual([
      expect.closeTo(10 + 15 / 16, 1),
      expect.closeTo(10 + 65 / 16, 1),
      expect.closeTo(1800 - 75, 1),
    ]);
    expect(door?.stages[2]?.safeEarlierMinutes).toBeCloseTo(75, 1);
    expect(door?.goal).toBe("sand");
  });
  it("tells the percentage when the next stage is safe and at the end of the plan", () => {
    const [door] = ask([bake]).coats;
    expect(door?.percentAtNextStage).toBeCloseTo(25 / 14.4, 1);
    expect(door?.percentAtPlanEnd.asThingsStand).toBeCloseTo(15 / 14.4, 6);
    expect(door?.percentAtPlanEnd.plan).toBeCloseTo(90 / 14.4, 6);
  });
  it("is later in a colder place", () => {
    const [door] = ask([{ kind: "move", atMs: 0, place: "yard" }]).coats;
    expect(door?.stages[1]?.safeEarlierMinutes).toBeCloseTo(-75, 1);
  });
  it("tells of a window that the plan alone misses", () => {
    expect(ask([bake]).coats[0]?.windowsMissed).toMatchObject([{ for: "sealer", ifMissed: "wait and sand" }]);
    const late: PlanStep = { ...bake, atMs: 3 * hour };
    expect(ask([late]).coats[0]?.windowsMissed).toEqual([]);
  });
  it("asks every coat of the car", () => {
    const older = { ...coat, id: "roof", climb: toyCoat(-hour), finishedAtMs: -hour };
    const { coats } = ask([bake], { coats: [older, coat] });
    expect(coats.map(({ id, nextStage }) => [id, nextStage])).toEqual([
      ["roof", "sand"],
      ["door", "overcoat"],
    ]);
  });
  it("compares energies up to the same stage, the last one that is safe when the plan ends", () => {
    const { energy } = ask([bake], { energy: { settings, outdoorC: 0 } });
    const kWPerM3 = (1.202 * 1.005 * 20) / 3600;
    // Sanding is safe after 75 min in the booth; the plan waits 10 min and bakes 5 after 10 of warm-up.
    expect(energy?.asThingsStand?.heatKWh).toBeCloseTo(kWPerM3 * 6000 * (75 / 60), 6);
    expect(energy?.plan?.heatKWh).toBeCloseTo(kWPerM3 * (6000 * (10 / 60) + 3 * 12_000 * 0.2 * (15 / 60)), 6);
    expect(energy?.conventionalBake?.heatKWh).toBeCloseTo(kWPerM3 * 3 * 12_000 * 0.2 * (40 / 60), 6);
    expect(ask([bake]).energy).toBeNull();
  });
  it("has no energy for what never comes to its end", () => {
    const never = (): ReturnType<typeof coat.climb.outcome> => {
      const outcome = toyCoat().outcome(0);
      return { ...outcome, stages: outcome.stages.map((stage) => ({ ...stage, safeAtMs: null })) };
    };
    const { energy, coats } = ask([], {
      coats: [{ ...coat, climb: { outcome: never } }],
      energy: { settings, outdoorC: 0 },
    });
    expect(energy).toMatchObject({ plan: null, asThingsStand: null });
    expect(coats[0]?.percentAtNextStage).toBeNull();
    expect(coats[0]?.stages[0]?.safeEarlierMinutes).toBeNull();
  });
  it("hands back all that does not fit in the plan", () => {
    const steps: PlanStep[] = [
      { ...bake, bakeC: 200 },
      { kind: "move", atMs: 0, place: "roof" },
    ];
    expect(whatIf({ ...question, steps })).toMatchObject({
      faults: [{ path: "steps.0.bakeC" }, { path: "steps.1.place", found: "roof" }],
    });
  });
});
