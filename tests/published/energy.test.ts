/** Heating of make-up air and CO2 of its fuel against published figures. */
import { describe, expect, it } from "vitest";
import { energyOf, makeUpHeatKW } from "../../predictor/plan/energy.ts";

const btuPerKWh = 3412.142;

describe("make-up air", () => {
  // The Engineering ToolBox, cooling and heating equations: q = 1.005 · 1.202 · 10,000/3600 · 20 = 67 kW.
  it("takes 67 kW for 10,000 m³/h from 0 to 20 °C", () => {
    expect(Math.round(makeUpHeatKW(10_000, 0, 20))).toBe(67);
    expect(makeUpHeatKW(10_000, 0, 20)).toBeCloseTo(67.11, 2);
  });
  // Derived with the same formula for the flow of one booth in DGUV Information 209-089 (2017), 15,000 m³/h.
  it("takes 100.67 kW for 15,000 m³/h and 20 K", () => {
    expect(makeUpHeatKW(15_000, -5, 15)).toBeCloseTo(100.67, 2);
  });
  // The same source's rule in inch-pound units, BTU/h = 1.08 · cfm · ΔF, its factor rounded to three digits.
  it.each([
    [10_000, 0, 20],
    [15_000, -10, 60],
    [600, 15, 22],
  ])("agrees within 0.2 % with 1.08 · cfm · ΔF: %d m³/h from %d to %d °C", (m3PerHour, outdoorC, insideC) => {
    const cfm = m3PerHour / 1.69901082;
    const btuPerHour = 1.08 * cfm * 1.8 * (insideC - outdoorC);
    expect(Math.abs(makeUpHeatKW(m3PerHour, outdoorC, insideC) / (btuPerHour / btuPerKWh) - 1)).toBeLessThan(0.002);
  });
});

describe("CO2 of natural gas", () => {
  // US EPA, 40 CFR 98 Table C-1: 53.06 kg/mmBtu of the higher heating value; 1 mmBtu = 293.07 kWh. The year is from memory.
  it("comes to 53.06 kg for each million BTU burnt at 0.18105 kg/kWh", () => {
    const gas = { pricePerKWh: 0, co2KgPerKWh: 0.18105, source: "US EPA 40 CFR 98 Table C-1", year: 2013 };
    const none = { pricePerKWh: 0, co2KgPerKWh: 0, source: "none", year: 2013 };
    const piece = { m3PerHour: 10_000, freshShare: 1, outdoorC: 0, insideC: 20, minutes: 600, fansKW: 5 };
    const { co2Kg, fuelKWh } = energyOf([piece], { heat: gas, electricity: none, burnerEfficiency: 0.9 });
    expect((co2Kg / (fuelKWh * btuPerKWh)) * 1e6).toBeCloseTo(53.06, 2);
    expect(fuelKWh * 0.9).toBeCloseTo(671.1, 0);
  });
});
