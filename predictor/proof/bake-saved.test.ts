import { describe, expect, it } from "vitest";
import { type EnergySettings, energySchema } from "../plan/energy.ts";
import { bakeSaved, dryingsOf } from "./bake-saved.ts";

const handling = {
  bakeM3PerHour: 10_000,
  recirculatedPercent: 80,
  flashOffM3PerHour: 1_000,
  fansKW: 5,
  warmUpMinutes: 10,
};
const settings: EnergySettings = energySchema.parse({
  currency: "EUR",
  heat: { pricePerKWh: 0.1, co2KgPerKWh: 0.2, source: "invented", year: 2026 },
  electricity: { pricePerKWh: 0.3, co2KgPerKWh: 0.4, source: "invented", year: 2026 },
  burnerEfficiency: 0.9,
  airHandling: { booth: handling },
});
const hour = 3_600_000;
const coat = (carId: string, from: number, until: number, warmestC: number | null = 22) => ({
  carId,
  fromMs: from * hour,
  untilMs: until * hour,
  warmestC,
});

describe("dryingsOf", () => {
  it("takes coats of a car that dry at once, or one on the other, as one drying", () => {
    const { dryings } = dryingsOf([
      coat("a", 1, 2),
      coat("a", 0, 1),
      coat("b", 0.5, 1),
      coat("a", 5, 6),
      coat("a", 5.5, 5.8),
    ]);
    expect(dryings.map(({ carId, fromMs, untilMs, coats }) => [carId, fromMs / hour, untilMs / hour, coats])).toEqual([
      ["a", 0, 2, 2],
      ["a", 5, 6, 2],
      ["b", 0.5, 1, 1],
    ]);
  });
  it("leaves out what was baked and what is not known", () => {
    expect(dryingsOf([coat("a", 0, 1, 40), coat("b", 0, 1, 39.9), coat("c", 0, 1, null)])).toMatchObject({
      dryings: [{ carId: "b" }],
      baked: 1,
      unknown: 1,
    });
  });
});

describe("bakeSaved", () => {
  const drying = { carId: "a", fromMs: 0, untilMs: 2 * hour, coats: 2 };
  const leftOut = { baked: 3, unknown: 4 };
  const stay = (place: string, minutes: number, outdoorC: number | null = 0) => ({
    place,
    minutes,
    insideC: 20,
    outdoorC,
  });
  it("sets one bake against the flash-off air of the drying, by hand", () => {
    const saved = bakeSaved(
      [{ drying, stays: [stay("booth", 60), stay("yard", 60)] }],
      settings,
      { booth: handling, yard: null },
      leftOut,
    );
    // 1.202 · 1.005 ÷ 3600 kWh for a cubic metre and kelvin: 2,000 m³/h of 60 K for 40 min; 1,000 m³/h of 20 K for an hour.
    const perM3K = (1.202 * 1.005) / 3600;
    const [bake, dry] = [(perM3K * 2000 * 60 * 40) / 60, perM3K * 1000 * 20];
    expect(saved).toMatchObject({ dryings: 1, coats: 2, ...leftOut });
    expect(saved.bakes.heatKWh).toBeCloseTo(bake, 9);
    expect(saved.bakes.fansKWh).toBeCloseTo((5 * 40) / 60, 9);
    expect(saved.drying.heatKWh).toBeCloseTo(dry, 9);
    expect(saved.drying.fansKWh).toBeCloseTo(5, 9);
    expect(saved.saved.cost).toBeCloseTo(((bake - dry) / 0.9) * 0.1 + (200 / 60 - 5) * 0.3, 9);
    expect(saved.saved.co2Kg).toBeCloseTo(((bake - dry) / 0.9) * 0.2 + (200 / 60 - 5) * 0.4, 9);
  });
  it("goes below zero where the fans ran all night", () => {
    const saved = bakeSaved([{ drying, stays: [stay("booth", 720)] }], settings, { booth: handling }, leftOut);
    expect(saved.saved.cost).toBeLessThan(0);
  });
  it("counts as unknown what has no air, no outdoors or no place to bake", () => {
    const none = { drying, stays: [] };
    const coldless = { drying, stays: [stay("booth", 60, null)] };
    expect(bakeSaved([none, coldless], settings, { booth: handling }, leftOut)).toMatchObject({
      dryings: 0,
      unknown: 8,
    });
    const yard = { drying, stays: [stay("yard", 60)] };
    expect(bakeSaved([yard], settings, { yard: null }, leftOut)).toMatchObject({
      dryings: 0,
      unknown: 6,
      saved: { cost: 0 },
    });
  });
});
