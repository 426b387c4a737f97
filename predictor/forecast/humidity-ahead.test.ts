import { describe, expect, it } from "vitest";
import { vapourPressureHpa } from "../air/humidity.ts";
import { humidityAt } from "./humidity-ahead.ts";

describe("humidity ahead", () => {
  it("keeps the vapour pressure", () => {
    const rhPercent = humidityAt({ airC: 20, rhPercent: 50 }, 25);
    expect(vapourPressureHpa(25, rhPercent)).toBeCloseTo(vapourPressureHpa(20, 50), 9);
    expect(humidityAt({ airC: 20, rhPercent: 50 }, 20)).toBeCloseTo(50, 9);
  });

  it("is at most 100 where the water condenses, and NaN for a humidity that cannot be", () => {
    expect(humidityAt({ airC: 20, rhPercent: 50 }, 5)).toBe(100);
    expect(humidityAt({ airC: 20, rhPercent: 120 }, 25)).toBeNaN();
  });
});
