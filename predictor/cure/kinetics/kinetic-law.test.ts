import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { gasConstantJPerMolK } from "../time-curve.ts";
import { KineticLaw } from "./kinetic-law.ts";
import type { Kinetics } from "./kinetics.ts";

const validC = { min: 0, max: 60 };
const kamalSourour: Kinetics = {
  model: "kamal-sourour",
  reaction: { preExponentialPerSecond: 5e7, activationEnergyKJ: 70 },
  autocatalysis: { preExponentialPerSecond: 1.6e5, activationEnergyKJ: 50 },
  autocatalyticOrder: 0.8,
  order: 1.4,
  initialConversion: 0,
  validC,
};
const glass = { tgUncuredC: -40, tgCuredC: 60, lambda: 0.35, diffusionAtTgPerSecond: 1e-3, wlfC1: 40.16, wlfC2K: 51.6 };

/** The rate as the formula is written, in 1/min. */
function written(conversion: number, panelC: number): number {
  const k = (perSecond: number, energyKJ: number) =>
    60 * perSecond * Math.exp((-1000 * energyKJ) / (gasConstantJPerMolK * (panelC + 273.15)));
  return (k(5e7, 70) + k(1.6e5, 50) * conversion ** 0.8) * (1 - conversion) ** 1.4;
}

describe("KineticLaw", () => {
  it("gives the rate of the formula as it is written, at both ends too", () => {
    const law = new KineticLaw(kamalSourour);
    for (const panelC of [-20, 0, 20, 60, 140]) {
      for (const conversion of [0, 1e-6, 0.3, 0.95, 0.999]) {
        expect(law.ratePerMinute(conversion, panelC) / written(conversion, panelC)).toBeCloseTo(1, 9);
      }
    }
    expect(law.ratePerMinute(1, 20)).toBe(0);
  });

  it("comes back from every extent to its conversion, whatever the order", () => {
    const order = fc.oneof(fc.constantFrom(0, 0.5, 1, 2, 1 + 1e-6), fc.double({ min: 0, max: 5, noNaN: true }));
    fc.assert(
      fc.property(order, fc.double({ min: 0, max: 0.999, noNaN: true }), (n, conversion) => {
        const law = new KineticLaw({ ...kamalSourour, order: n });
        expect(law.conversionAt(law.extentAt(conversion))).toBeCloseTo(conversion, 9);
      }),
    );
  });

  it("is as fast as the chemistry far above the glass transition, and as diffusion far below it", () => {
    const law = new KineticLaw({ ...kamalSourour, glass });
    expect(law.ratePerMinute(0.1, 60) / written(0.1, 60)).toBeCloseTo(1, 6);
    expect(law.isVitrified(0.1, 60)).toBe(false);
    expect(law.isVitrified(0.95, 0)).toBe(true);
    // T_g(0.95) = −40 + 100·0.35·0.95/(1 − 0.65·0.95) = 46.928105 °C, as much above 0 °C as in K.
    const diffusion = 60e-3 * Math.exp((-40.16 * 46.928105) / (51.6 + 46.928105));
    const chemistry = written(0.95, 0) / 0.05 ** 1.4;
    const both = 1 / (1 / chemistry + 1 / diffusion);
    expect(law.ratePerMinute(0.95, 0) / (both * 0.05 ** 1.4)).toBeCloseTo(1, 6);
  });
});
