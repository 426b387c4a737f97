import { describe, expect, it } from "vitest";
import { decisive, leastDewMarginC, limitFindings, type SprayAir, sprayState } from "./limits.ts";

const limits = { airC: { min: 15, max: 30 }, panelC: { min: 12 }, rhPercent: { max: 75 } };
const fair: SprayAir = { airC: 20, rhPercent: 50, panelC: 20, dewPointC: 9.3 };
const found = (air: Partial<SprayAir>, of = limits) => limitFindings(of, { ...fair, ...air });
/** What is not well inside. */
const states = (air: Partial<SprayAir>) =>
  Object.fromEntries(
    found(air)
      .filter(({ state }) => state !== "inside")
      .map(({ what, state }) => [what, state]),
  );

describe("spray limits", () => {
  it("tell every limit with its value, its bounds, the margin and where the bound comes from", () => {
    expect(found({})).toEqual([
      { what: "air temperature", value: 20, min: 15, max: 30, margin: 5, state: "inside", source: "sheet" },
      { what: "panel temperature", value: 20, min: 12, max: null, margin: 8, state: "inside", source: "sheet" },
      { what: "humidity", value: 50, min: null, max: 75, margin: 25, state: "inside", source: "sheet" },
      {
        what: "dew-point margin",
        value: 10.7,
        min: 3,
        max: null,
        margin: 7.699999999999999,
        state: "inside",
        source: "common practice",
      },
    ]);
    expect(limitFindings({}, fair)[0]).toMatchObject({ min: null, max: null, margin: null, state: "inside" });
  });

  it("find what lies within 1 °C or 3 % RH of a bound close, and what lies beyond it outside", () => {
    expect(states({})).toEqual({});
    expect(states({ airC: 15.5 })).toEqual({ "air temperature": "close" });
    expect(states({ airC: 14.9 })).toEqual({ "air temperature": "outside" });
    expect(states({ rhPercent: 73 })).toEqual({ humidity: "close" });
    expect(states({ rhPercent: 75.1 })).toEqual({ humidity: "outside" });
    expect(found({ airC: 31 })[0]).toMatchObject({ value: 31, max: 30, margin: -1, state: "outside" });
  });

  it("want the panel 3 °C above the dew point, whatever the sheet prints", () => {
    const panelAbove = (marginC: number) => limitFindings({}, { ...fair, dewPointC: 20 - marginC })[3]?.state;
    expect(leastDewMarginC).toBe(3);
    expect([2.99, 3.01, 3.99, 4.01].map(panelAbove)).toEqual(["outside", "close", "close", "inside"]);
  });

  it("take the air for the panel at the dew point where the panel is not measured, and judge nothing unmeasured", () => {
    const unmeasured = { "panel temperature": "not measured" };
    expect(states({ panelC: null, dewPointC: 18 })).toEqual({ ...unmeasured, "dew-point margin": "outside" });
    expect(Object.values(states({ airC: null, rhPercent: null, panelC: null, dewPointC: null }))).toEqual(
      Array(4).fill("not measured"),
    );
  });

  it("count what is not a number as outside", () => {
    expect(states({ airC: Number.NaN })).toMatchObject({ "air temperature": "outside" });
  });
});

describe("what the limits come to", () => {
  const stateOf = (air: Partial<SprayAir>) => sprayState(found(air));

  it("is one answer, and none without air temperature or humidity", () => {
    expect(stateOf({})).toBe("spray");
    expect(stateOf({ panelC: null })).toBe("spray");
    expect(stateOf({ airC: 15.5 })).toBe("spray with care");
    expect(stateOf({ airC: 15.5, rhPercent: 80 })).toBe("do not spray");
    expect(stateOf({ airC: null })).toBe("no verdict");
    expect(stateOf({ rhPercent: null, airC: 5 })).toBe("no verdict");
  });

  it("is decided by what is outside before what is close", () => {
    expect(decisive(found({ airC: 15.5, rhPercent: 80 }))?.what).toBe("humidity");
    expect(decisive(found({ airC: 15.5 }))?.what).toBe("air temperature");
    expect(decisive(found({}))).toBeNull();
  });
});
