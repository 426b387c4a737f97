import { describe, expect, it } from "vitest";
import {
  dewPointC,
  lnSaturation,
  lnSaturationRatio,
  rhAtSurfacePercent,
  saturationVapourPressureHpa,
  vapourPressureHpa,
} from "./humidity.ts";

describe("saturation vapour pressure", () => {
  it("is the Magnus constant at 0 °C", () => {
    expect(saturationVapourPressureHpa(0)).toBe(6.112);
  });
  it("is NaN at and below the pole of the formula and for NaN", () => {
    expect(saturationVapourPressureHpa(-243.12)).toBeNaN();
    expect(lnSaturation(-300)).toBeNaN();
    expect(saturationVapourPressureHpa(Number.NaN)).toBeNaN();
  });
});

describe("the ratio of two saturation pressures", () => {
  it("has the difference of their logarithms as its own", () => {
    for (const [a, b] of [
      [20, 20],
      [35, -5],
      [-20, 60],
    ] as const) {
      expect(lnSaturationRatio(a, b)).toBeCloseTo(lnSaturation(a) - lnSaturation(b), 13);
    }
  });
});

describe("dew point", () => {
  it("is the air's own temperature in saturated air", () => {
    for (const airC of [-10, 0, 20, 45]) expect(dewPointC(airC, 100)).toBeCloseTo(airC, 10);
  });
  it("leads back to the humidity that it came from", () => {
    const dewC = dewPointC(23, 47);
    expect((100 * saturationVapourPressureHpa(dewC)) / saturationVapourPressureHpa(23)).toBeCloseTo(47, 10);
  });
  it("is over water below 0 °C: −7.35 °C at 2 °C and 50 %, where a frost point would be −6.5 °C", () => {
    expect(dewPointC(2, 50)).toBeCloseTo(-7.35, 2);
  });
  it("is NaN for dry air, for more than 100 % and for NaN", () => {
    for (const rh of [0, -1, 100.1, Number.NaN]) expect(dewPointC(20, rh)).toBeNaN();
  });
});

describe("humidity at a surface", () => {
  it("passes 100 % just where the surface falls below the dew point", () => {
    const dewC = dewPointC(20, 60);
    expect(rhAtSurfacePercent(20, 60, dewC + 0.01)).toBeLessThan(100);
    expect(rhAtSurfacePercent(20, 60, dewC - 0.01)).toBeGreaterThan(100);
  });
  it("is NaN outside 0…100 % of the air's own humidity", () => {
    expect(vapourPressureHpa(20, 101)).toBeNaN();
    expect(rhAtSurfacePercent(20, Number.NaN, 20)).toBeNaN();
  });
});
