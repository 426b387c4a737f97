import { describe, expect, it } from "vitest";
import { panelLagSeconds } from "./panel.ts";

describe("the lag of a panel", () => {
  it("is density × heat capacity × thickness over both faces' heat transfer", () => {
    expect(panelLagSeconds("steel", 0.2)).toBeCloseTo((7850 * 490 * 0.0007) / (2 * (5.7 + 3.8 * 0.2)), 10);
  });
  it("is longest in still air and for plastic", () => {
    expect(panelLagSeconds("steel", 0)).toBeGreaterThan(panelLagSeconds("steel", 0.5));
    expect(panelLagSeconds("plastic", 0.2)).toBeGreaterThan(panelLagSeconds("aluminium", 0.2));
  });
  it("is NaN for an air speed below 0 or NaN", () => {
    expect(panelLagSeconds("steel", -0.1)).toBeNaN();
    expect(panelLagSeconds("steel", Number.NaN)).toBeNaN();
  });
});
