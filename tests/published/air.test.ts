/** The air part and the stand-in solvent against published tables and equations. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { describe, expect, it } from "vitest";
import { dewPointC, saturationVapourPressureHpa } from "../../predictor/air/humidity.ts";
import { lnSolventPressure } from "../../predictor/cure/solvent.ts";

/** npm psychrolib 1.1.1 (psychrometrics/psychrolib 2.5.0): ASHRAE Handbook, Fundamentals 2017, chapter 1. */
interface PsychroLib {
  SI: number;
  SetUnitSystem(system: number): void;
  GetTDewPointFromRelHum(airC: number, rhFraction: number): number;
}
const psychrolib = createRequire(import.meta.url)("psychrolib") as PsychroLib;
psychrolib.SetUnitSystem(psychrolib.SI);

describe("dew point", () => {
  it("is within 0.1 °C of psychrolib from 0 to 60 °C and 5 to 100 % RH, where it is not below 0 °C", () => {
    let compared = 0;
    for (let airC = 0; airC <= 60; airC += 0.5) {
      for (let rh = 5; rh <= 100; rh += 1) {
        const expectedC = psychrolib.GetTDewPointFromRelHum(airC, rh / 100);
        if (!(expectedC >= 0)) continue;
        compared++;
        expect(Math.abs(dewPointC(airC, rh) - expectedC)).toBeLessThanOrEqual(0.1);
      }
    }
    expect(compared).toBeGreaterThan(8000);
  });

  it("agrees with 244 cells of a published table: 239 within 0.15 °C, all within 0.25 °C", () => {
    const file = new URL("data/dew-points.json", import.meta.url);
    const { cells } = JSON.parse(readFileSync(file, "utf8")) as { cells: [number, number, number][] };
    const offC = cells.map(([airC, rh, dewC]) => Math.abs(dewPointC(airC, rh) - dewC));
    expect(cells.length).toBe(244);
    expect(offC.filter((off) => off <= 0.15).length).toBeGreaterThanOrEqual(239);
    expect(Math.max(...offC)).toBeLessThanOrEqual(0.25);
  });
});

describe("saturation vapour pressure", () => {
  it("is within 0.35 % of IAPWS R7-97(2012): 300 K, 35.3658941 hPa", () => {
    expect(saturationVapourPressureHpa(26.85) / 35.3658941).toBeCloseTo(1, 2);
    expect(Math.abs(saturationVapourPressureHpa(26.85) / 35.3658941 - 1)).toBeLessThan(0.0035);
  });
  // CRC Handbook of Chemistry and Physics, 73rd ed. (1992-93), kPa, as transcribed at lcm91.tripod.com/documents/vp_H2O.htm.
  it.each([
    [0, 0.61129],
    [5, 0.8726],
    [10, 1.2281],
    [15, 1.7056],
    [20, 2.3388],
    [25, 3.169],
    [30, 4.2455],
    [35, 5.6267],
    [40, 7.3814],
    [45, 9.5895],
    [50, 12.344],
    [55, 15.752],
    [60, 19.932],
  ])("at %d °C is within 0.35 % of the CRC table's %d kPa", (tempC, kPa) => {
    expect(Math.abs(saturationVapourPressureHpa(tempC) / (10 * kPa) - 1)).toBeLessThan(0.0035);
  });
});

describe("the stand-in solvent, n-butyl acetate", () => {
  const pascal = (tempC: number) => 1e5 * Math.exp(lnSolventPressure(tempC));

  it("is within 20 % of Perry's Table 2-8 (DIPPR 101) from 5 to 60 °C", () => {
    for (let tempC = 5; tempC <= 60; tempC += 5) {
      const kelvin = tempC + 273.15;
      const perry = Math.exp(122.82 - 9253.2 / kelvin - 14.99 * Math.log(kelvin) + 1.047e-5 * kelvin ** 2);
      expect(Math.abs(pascal(tempC) / perry - 1)).toBeLessThan(0.2);
    }
  });
  it("is within 20 % of published single values: 1333 Pa at 20 °C (a supplier's table), 1.66 kPa at 24 °C (Wikipedia)", () => {
    expect(Math.abs(pascal(20) / 1333 - 1)).toBeLessThan(0.2);
    expect(Math.abs(pascal(24) / 1660 - 1)).toBeLessThan(0.2);
  });
});
