import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { hour, minute, steady } from "./example-plan.ts";
import { planAhead } from "./plan-ahead.ts";
import { type PlanStep, planEndsAtMs, planFaults } from "./plan-step.ts";

const coolingFrom = (offAtMs: number) => [{ atMs: offAtMs + hour, airC: 12, coldC: 10 }];
const places = {
  booth: steady(22, { panelC: 20, airSpeedMps: 0.3, coolingFrom }),
  yard: steady(5, { hours: [{ atMs: hour, airC: 9, coldC: 7 }] }),
};
const start = { place: "booth", nowMs: 0 };
const likely = (...steps: PlanStep[]) =>
  planAhead(steps, start, places).likely.map(({ atMs, airC, movedIn }) =>
    movedIn ? [atMs / minute, airC, "moved in"] : [atMs / minute, airC],
  );
const bake: PlanStep = { kind: "bake", atMs: 10 * minute, bakeC: 60, minutes: 30 };
const out: PlanStep = { kind: "move", atMs: 60 * minute, place: "yard" };
const off: PlanStep = { kind: "heating-off", atMs: 20 * minute };

describe("a plan", () => {
  it("without steps is the place as it is forecast", () => {
    expect(likely()).toEqual([[0, 22]]);
  });
  it("with a move to the place where the car stands is the plan without it", () => {
    const home: PlanStep = { kind: "move", atMs: 5 * minute, place: "booth" };
    expect(planAhead([home], start, places)).toEqual(planAhead([], start, places));
    expect(planAhead([bake, out, home], start, places)).toEqual(planAhead([bake, out], start, places));
  });
  it("moves the car at once, keeping its panel", () => {
    expect(likely({ ...out, atMs: hour / 2 })).toEqual([
      [0, 22],
      [30, 22],
      [30, 7, "moved in"],
      [60, 9],
    ]);
  });
  it("bakes in steps up and down, with the water of the place's air, and no panel sensor from then on", () => {
    const ahead = planAhead([bake], start, places);
    expect(ahead.likely.map(({ atMs, airC }) => [atMs / minute, airC])).toEqual([
      [0, 22],
      [10, 22],
      [10, 60],
      [40, 60],
      [40, 22],
    ]);
    // 50 % at 22 °C are 13.2 hPa; at 60 °C the air could hold 199 hPa (Magnus).
    expect(ahead.likely[2]?.rhPercent).toBeCloseTo(6.6, 1);
    expect(ahead.likely.map((reading) => "panelC" in reading)).toEqual([true, true, false, false, false]);
    expect(ahead.likely.map(({ airSpeedMps }) => airSpeedMps)).toEqual([0.3, 0.3, 0.5, 0.5, 0.3]);
    expect(ahead.cold).toEqual(ahead.likely);
  });
  it("does not depend on the order that its steps are given in", () => {
    expect(planAhead([out, off, bake], start, places)).toEqual(planAhead([bake, off, out], start, places));
  });
  it("cools a place from when its heating goes off, during a bake too and when the car comes back", () => {
    expect(likely(off)).toEqual([
      [0, 22],
      [20, 22],
      [20, 22],
      [80, 12],
    ]);
    const [, , , , afterBake] = likely(bake, off).filter(([, airC]) => airC !== 60);
    expect(afterBake).toEqual([80, 12]);
    const back: PlanStep = { kind: "move", atMs: 70 * minute, place: "booth" };
    expect(likely(off, { ...out, atMs: 30 * minute }, back).at(-2)?.[1]).toBeCloseTo(22 - (10 * 50) / 60, 9);
  });
  it("moves first and bakes last of what is planned for one instant", () => {
    const hot: PlanStep = { ...bake, atMs: hour };
    expect(likely(hot, out).slice(2, 4)).toEqual([
      [60, 9, "moved in"],
      [60, 60],
    ]);
  });
  it("is over when its last bake is", () => {
    expect(planEndsAtMs([bake, off], 0)).toBe(40 * minute);
    expect(planEndsAtMs([], 7)).toBe(7);
  });
});

describe("faults of a plan", () => {
  const faultsOf = (...steps: PlanStep[]) => planFaults(steps, start, places).map(({ path }) => path);
  it("are none for steps of a moment ago, bakes that touch, and a move as a bake begins or ends", () => {
    const next: PlanStep = { ...bake, atMs: 40 * minute };
    expect(faultsOf({ ...off, atMs: -minute }, next, bake, { ...out, atMs: 10 * minute })).toEqual([]);
    expect(faultsOf(bake, { ...out, atMs: 40 * minute })).toEqual([]);
  });
  it("come all at once, with the number of the step as given", () => {
    const faults = planFaults(
      [
        { kind: "move", atMs: -minute - 1, place: "roof" },
        { kind: "bake", atMs: hour, bakeC: 91, minutes: 241 },
        { kind: "bake", atMs: 6 * hour, bakeC: Number.NaN, minutes: 0 },
        { kind: "heating-off", atMs: Number.NaN },
      ],
      start,
      places,
    );
    expect(faults).toEqual([
      { path: "steps.0.atMs", expected: text("plan-fault.instant", { days: 31 }), found: "-60001" },
      { path: "steps.0.place", expected: text("plan-fault.place", { places: ["booth", "yard"] }), found: "roof" },
      {
        path: "steps.1.bakeC",
        expected: text("plan-fault.range", { from: { celsius: 30 }, to: { celsius: 90 } }),
        found: "91",
      },
      { path: "steps.1.minutes", expected: text("plan-fault.range", { from: 1, to: 240 }), found: "241" },
      {
        path: "steps.2.bakeC",
        expected: text("plan-fault.range", { from: { celsius: 30 }, to: { celsius: 90 } }),
        found: "NaN",
      },
      { path: "steps.2.minutes", expected: text("plan-fault.range", { from: 1, to: 240 }), found: "0" },
      { path: "steps.3.atMs", expected: text("plan-fault.instant", { days: 31 }), found: "NaN" },
    ]);
  });
  it("are a bake, a move or a next coat during a bake", () => {
    expect(faultsOf(bake, { ...bake, atMs: 20 * minute })).toEqual(["steps.1.atMs"]);
    expect(faultsOf({ ...bake, atMs: 20 * minute }, bake)).toEqual(["steps.0.atMs"]);
    expect(faultsOf(bake, { ...bake })).toEqual(["steps.1.atMs"]);
    expect(faultsOf(bake, { ...out, atMs: 39 * minute })).toEqual(["steps.1.atMs"]);
    // A bake of a moment ago counts from now.
    expect(faultsOf({ ...bake, atMs: -minute / 2 }, { ...bake, atMs: 29.7 * minute })).toEqual(["steps.1.atMs"]);
  });
  it("are a place that is not known, also by what every object inherits, and more than twelve steps", () => {
    expect(planFaults([], { place: "roof", nowMs: 0 }, places)).toHaveLength(1);
    expect(faultsOf({ ...out, place: "constructor" })).toEqual(["steps.0.place"]);
    expect(faultsOf(...Array.from({ length: 13 }, () => off))).toEqual(["steps"]);
  });
  it("are heating off where it is not known how the place cools", () => {
    expect(faultsOf({ ...out, atMs: 0 }, off)).toEqual(["steps.1"]);
    expect(faultsOf(out, off)).toEqual([]);
  });
});
