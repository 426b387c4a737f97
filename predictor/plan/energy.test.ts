import { describe, expect, it } from "vitest";
import { airHandlingOf, energyOf, energySchema, makeUpHeatKW } from "./energy.ts";
import { handling, hour, minute, settings, steady } from "./example-plan.ts";
import { conventionalBakeEnergy, planEnergy } from "./plan-energy.ts";
import type { PlanStep } from "./plan-step.ts";

const piece = { m3PerHour: 3600, freshShare: 1, outdoorC: 0, insideC: 20, minutes: 60, fansKW: 5 };
const kW = 1.202 * 1.005 * 20;
const question = { settings, outdoorC: 0 };
const start = { place: "booth", nowMs: 0 };
const coolingFrom = (offAtMs: number) => [{ atMs: offAtMs + hour, airC: 5, coldC: 5 }];
const places = { booth: steady(20, { airHandling: handling, coolingFrom }), yard: steady(5) };
const bake: PlanStep = { kind: "bake", atMs: 30 * minute, bakeC: 60, minutes: 30 };
const heatOf = (steps: PlanStep[], untilMs: number) => planEnergy(question, steps, start, places, untilMs).heatKWh;
const hourOfFlashOff = (kW * 6000) / 3600;
const bakeHeat = ((40 / 60) * kW * 3 * 12_000 * 0.2) / 3600;

describe("energy of heated air", () => {
  it("is heat for the fresh share alone, more fuel than heat, and fans", () => {
    expect(energyOf([piece], settings)).toEqual({
      heatKWh: expect.closeTo(kW, 9),
      fuelKWh: expect.closeTo(kW / 0.8, 9),
      fansKWh: 5,
      cost: expect.closeTo((kW / 0.8) * 0.1 + 5 * 0.3, 9),
      co2Kg: expect.closeTo((kW / 0.8) * 0.2 + 5 * 0.4, 9),
    });
    expect(energyOf([{ ...piece, freshShare: 0.25, minutes: 30 }], settings).heatKWh).toBeCloseTo(kW / 8, 9);
  });
  it("adds up over pieces and is nothing for none", () => {
    expect(energyOf([piece, piece], settings).cost).toBeCloseTo(2 * energyOf([piece], settings).cost, 9);
    expect(energyOf([], settings)).toEqual({ heatKWh: 0, fuelKWh: 0, fansKWh: 0, cost: 0, co2Kg: 0 });
  });
  it("never cools, and does not hide a value that is no number", () => {
    expect(makeUpHeatKW(3600, 25, 20)).toBe(0);
    expect(makeUpHeatKW(3600, Number.NaN, 20)).toBeNaN();
  });
});

describe("energy settings", () => {
  it("look a place up by its name before its kind, and not by what every object inherits", () => {
    const named = { ...settings, airHandling: { booth: handling, "booth-2": { ...handling, fansKW: 9 } } };
    expect(airHandlingOf(named, "booth-2", "booth")?.fansKW).toBe(9);
    expect(airHandlingOf(named, "booth-1", "booth")?.fansKW).toBe(6);
    expect(airHandlingOf(named, "yard", "yard")).toBeNull();
    expect(airHandlingOf(named, "constructor", "yard")).toBeNull();
  });
  it("need a source and a year for each factor, and have a bake at 60 °C for 30 min to compare with", () => {
    const { year: _, ...undated } = settings.heat;
    expect(energySchema.safeParse({ ...settings, heat: undated }).success).toBe(false);
    expect(energySchema.safeParse({ ...settings, burnerEfficiency: 0 }).success).toBe(false);
    expect(settings.conventionalBake).toEqual({ bakeC: 60, minutes: 30 });
  });
});

describe("energy of a plan", () => {
  it("is that of waiting in a place that handles air, until the time asked for", () => {
    expect(heatOf([], hour)).toBeCloseTo(hourOfFlashOff, 9);
    expect(planEnergy(question, [], start, places, hour).fansKWh).toBeCloseTo(6, 9);
    expect(planEnergy(question, [], { place: "yard", nowMs: 0 }, places, hour).heatKWh).toBe(0);
  });
  it("counts a bake with its warm-up and its recirculated air", () => {
    expect(heatOf([bake], 2 * hour)).toBeCloseTo(bakeHeat + 1.5 * hourOfFlashOff, 9);
  });
  it("ends when the car leaves or the heating goes off", () => {
    expect(heatOf([{ kind: "move", atMs: hour, place: "yard" }], 9 * hour)).toBeCloseTo(hourOfFlashOff, 9);
    expect(heatOf([{ kind: "heating-off", atMs: hour }], 9 * hour)).toBeCloseTo(hourOfFlashOff, 9);
  });
  it("follows the forecast's air", () => {
    const warming = { booth: steady(20, { airHandling: handling, hours: [{ atMs: hour, airC: 30, coldC: 30 }] }) };
    expect(planEnergy(question, [], start, warming, hour).heatKWh).toBeCloseTo(1.25 * hourOfFlashOff, 9);
  });
  it("is set against a conventional bake where the car stands or in the first place that has one", () => {
    expect(conventionalBakeEnergy(question, start, places)?.heatKWh).toBeCloseTo(bakeHeat, 9);
    expect(conventionalBakeEnergy(question, { place: "yard" }, places)?.heatKWh).toBeCloseTo(bakeHeat, 9);
    expect(conventionalBakeEnergy(question, start, { booth: steady(20) })).toBeNull();
  });
});
