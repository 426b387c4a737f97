import { describe, expect, it } from "vitest";
import { checkLimits, leastDewMarginC, type SprayAir } from "./limits.ts";

const limits = { airC: { min: 15, max: 30 }, panelC: { min: 12 }, rhPercent: { max: 75 } };
const fair: SprayAir = { airC: 20, rhPercent: 50, panelC: 20, dewPointC: 9.3 };
const states = (air: Partial<SprayAir>) =>
  Object.fromEntries(checkLimits(limits, { ...fair, ...air }).map((finding) => [finding.what, finding.state]));

describe("spray limits", () => {
  it("find nothing in fair air", () => {
    expect(checkLimits(limits, fair)).toEqual([]);
  });
  it("find what lies within 1 °C or 3 % RH of a bound close, and what lies beyond it outside", () => {
    expect(states({ airC: 15.5 })).toEqual({ "air temperature": "close" });
    expect(states({ airC: 14.9 })).toEqual({ "air temperature": "outside" });
    expect(states({ rhPercent: 73 })).toEqual({ humidity: "close" });
    expect(states({ rhPercent: 75.1 })).toEqual({ humidity: "outside" });
    expect(checkLimits(limits, { ...fair, airC: 31 })[0]).toEqual({
      what: "air temperature",
      side: "above",
      value: 31,
      bound: 30,
      state: "outside",
    });
  });
  it("want the panel 3 °C above the dew point, whatever the sheet prints", () => {
    const panelAbove = (marginC: number) =>
      checkLimits({}, { ...fair, dewPointC: 20 - marginC }).map((finding) => finding.state);
    expect(leastDewMarginC).toBe(3);
    expect([2.99, 3.01, 3.99, 4.01].map(panelAbove)).toEqual([["outside"], ["close"], ["close"], []]);
  });
  it("take the air for the panel at the dew point where the panel is not measured, and judge nothing unmeasured", () => {
    expect(states({ panelC: null, airC: 20, dewPointC: 18 })).toEqual({ "dew-point margin": "outside" });
    expect(states({ airC: null, rhPercent: null, panelC: null, dewPointC: null })).toEqual({});
  });
  it("count what is not a number as outside", () => {
    expect(states({ airC: Number.NaN })).toMatchObject({ "air temperature": "outside" });
  });
});
