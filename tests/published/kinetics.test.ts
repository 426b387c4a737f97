/**
 * The kinetics against published parameter sets, textbook arithmetic and closed forms. What was derived (scipy's DOP853
 * and mpmath in 40 digits, which agree to 1e-10 or better) and not published says so; so does what is from memory.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { type Part, react } from "../../predictor/cure/kinetics/example-history.ts";
import { glassTransitionC, KineticLaw } from "../../predictor/cure/kinetics/kinetic-law.ts";
import { gelConversion } from "../../predictor/cure/kinetics/kinetic-stages.ts";
import type { Kinetics } from "../../predictor/cure/kinetics/kinetics.ts";
import { gasConstantJPerMolK } from "../../predictor/cure/time-curve.ts";

const validC = { min: 0, max: 60 };

/** A in 1/s for a rate constant in 1/min at 20 °C. */
const arrhenius = (at20PerMinute: number, activationEnergyKJ: number) => ({
  preExponentialPerSecond:
    (at20PerMinute / 60) * Math.exp((activationEnergyKJ * 1000) / (gasConstantJPerMolK * 293.15)),
  activationEnergyKJ,
});
const nthOrder = (at20PerMinute: number, activationEnergyKJ: number, order: number): Kinetics => ({
  model: "nth-order",
  reaction: arrhenius(at20PerMinute, activationEnergyKJ),
  order,
  initialConversion: 0,
  validC,
});
const kamalSourour = (
  reaction: [at20PerMinute: number, energyKJ: number],
  autocatalysis: [at20PerMinute: number, energyKJ: number],
  autocatalyticOrder: number,
  order: number,
  initialConversion = 0,
): Kinetics => ({
  model: "kamal-sourour",
  reaction: arrhenius(...reaction),
  autocatalysis: arrhenius(...autocatalysis),
  autocatalyticOrder,
  order,
  initialConversion,
  validC,
});
const at20C = (minutes: number): Part[] => [{ minutes, fromC: 20, toC: 20 }];

describe("at a constant temperature (derived from the closed forms named)", () => {
  it.each<[string, Kinetics, number, number]>([
    ["first order, 1 − exp(−kt)", nthOrder(0.01, 50, 1), 120, 0.698805788087798],
    ["second order, kt/(1 + kt)", nthOrder(0.01, 50, 2), 120, 0.545454545454545],
    ["order 1.5, 1 − (1 + kt/2)^−2", nthOrder(0.01, 50, 1.5), 120, 0.609375],
    ["order 0.87, 1 − (1 − 0.13 kt)^(1/0.13)", nthOrder(0.01, 50, 0.87), 300, 0.977680161978023],
    ["Kamal–Sourour m = n = 1", kamalSourour([0.002, 50], [0.03, 50], 1, 1), 90, 0.512407301773152],
    ["pure autocatalysis from a seed of 0.01", kamalSourour([0, 50], [0.05, 50], 1, 1, 0.01), 100, 0.599859601813035],
    ["Kamal–Sourour m = 1, n = 2", kamalSourour([0.002, 50], [0.03, 50], 1, 2), 150, 0.6268733447152],
  ])("%s", (_, kinetics, minutes, conversion) => {
    expect(react(kinetics, at20C(minutes)).conversion).toBeCloseTo(conversion, 11);
  });

  it("second order with NCO:OH 1.10, r(1 − E)/(1 − rE): that of OH is Kamal–Sourour with k2 = −r·k1", () => {
    const r = 1 / 1.1;
    const kinetics = kamalSourour([0.01, 50], [-0.01 * r, 50], 1, 1);
    expect(r * react(kinetics, at20C(240)).conversion).toBeCloseTo(0.662185843012942, 11);
  });

  it("order 0.87 is over after 1/(0.13 k) = 769.2307692 min and stays there", () => {
    const law = new KineticLaw(nthOrder(0.01, 50, 0.87));
    expect(law.conversionAt(0.01 * 700)).toBeLessThan(1);
    expect(law.conversionAt(0.01 * 769.2307693)).toBe(1);
    expect(react(nthOrder(0.01, 50, 0.87), at20C(1e6)).conversion).toBeCloseTo(1, 11);
  });
});

interface HistoryCase {
  name: string;
  parts: Part[];
  conversions: { M1: number; M2: number; M3: number; M4: number };
}
const file = new URL("data/kinetics.json", import.meta.url);
const data = JSON.parse(readFileSync(file, "utf8")) as {
  histories: HistoryCase[];
  glass: { name: string; parts: Part[]; conversion: number }[];
};
const models = {
  M1: nthOrder(0.005, 50, 1),
  M2: nthOrder(0.008, 60, 2),
  M3: nthOrder(0.006, 70, 1.5),
  M4: kamalSourour([0.001, 70], [0.012, 50], 0.8, 1.4),
};
/** The sinusoid over a day, 20 + 8·sin(2πt/1440), even between its values every second. */
const sinusoid = Array.from({ length: 86_400 }, (_, i): Part => {
  const at = (second: number) => 20 + 8 * Math.sin((2 * Math.PI * second) / 86_400);
  return { minutes: 1 / 60, fromC: at(i), toC: at(i + 1) };
});

describe("along a temperature history (derived)", () => {
  it.each(
    data.histories.flatMap(({ name, parts, conversions }) =>
      Object.entries(models).map(([model, kinetics]) => ({
        title: `${name}, ${model}`,
        kinetics,
        parts: parts.length > 0 ? parts : sinusoid,
        conversion: conversions[model as keyof typeof models],
      })),
    ),
  )("$title", ({ kinetics, parts, conversion }) => {
    expect(Math.abs(react(kinetics, parts).conversion - conversion)).toBeLessThan(2e-9);
  });
});

/**
 * Two-pack polyether polyurethane (MDI), DSC: n = 0.87, E = 43.59 kJ/mol, A = 2.344e5 1/s. Published in "Influences of
 * temperature and humidity on polyether-based polyurethane curing quality" (2013, abstract at
 * acemap.info/paper/374322236); what follows from the set was derived in closed form, with R = 8.314.
 */
describe("a published n-th order set", () => {
  const kinetics: Kinetics = {
    model: "nth-order",
    // The abstract's E holds with R = 8.314: E/R is what counts.
    reaction: { preExponentialPerSecond: 2.344e5, activationEnergyKJ: (43.59 / 8.314) * gasConstantJPerMolK },
    order: 0.87,
    initialConversion: 0,
    validC,
  };
  const law = new KineticLaw(kinetics);
  const held = (panelC: number, seconds: number): Part[] => [{ minutes: seconds / 60, fromC: panelC, toC: panelC }];

  it.each([
    [5, 1.526731e-3],
    [15, 2.936685e-3],
    [25, 5.406237e-3],
    [40, 1.255201e-2],
  ])("has at %d °C the rate constant %d 1/s (derived)", (panelC, perSecond) => {
    expect(law.ratePerMinute(0, panelC) / 60 / perSecond).toBeCloseTo(1, 6);
  });
  it.each([
    [25, 60, 0.282091],
    [25, 300, 0.838211],
    [15, 300, 0.607678],
    [5, 300, 0.376385],
    [40, 60, 0.547327],
  ])("comes at %d °C in %d s to the conversion %d (derived)", (panelC, seconds, conversion) => {
    expect(react(kinetics, held(panelC, seconds)).conversion).toBeCloseTo(conversion, 6);
  });
  it("comes at 25 °C to 0.9 in 368.08 s, and to its end in 1422.9 s (derived)", () => {
    expect(react(kinetics, held(25, 2000), 0.9).minutes * 60).toBeCloseTo(368.08, 2);
    const wholeMinutes = 1 / ((1 - 0.87) * law.firstAt(25));
    expect(wholeMinutes * 60).toBeCloseTo(1422.9, 1);
    expect(law.conversionAt(wholeMinutes * law.firstAt(25))).toBe(1);
  });
});

describe("the glass", () => {
  const glass = {
    tgUncuredC: -40,
    tgCuredC: 60,
    lambda: 0.35,
    diffusionAtTgPerSecond: 1e-3,
    wlfC1: 40.16,
    wlfC2K: 51.6,
  };
  // DiBenedetto's equation, from memory; the values are derived from it.
  it.each([
    [0, -40],
    [0.5, -14.074074],
    [0.75, 11.219512],
    [0.9, 35.903614],
    [1, 60],
    [0.810810811, 20],
  ])("at a conversion of %d softens at %d °C (derived): there it vitrifies", (conversion, tgC) => {
    expect(glassTransitionC(glass, conversion)).toBeCloseTo(tgC, 6);
  });

  it.each(data.glass)("slows a Kamal–Sourour reaction $name to the derived conversion", ({ parts, conversion }) => {
    const kinetics: Kinetics = {
      model: "kamal-sourour",
      reaction: { preExponentialPerSecond: 5e7, activationEnergyKJ: 70 },
      autocatalysis: { preExponentialPerSecond: 1.6e5, activationEnergyKJ: 50 },
      autocatalyticOrder: 0.8,
      order: 1.4,
      initialConversion: 0,
      glass,
      validC,
    };
    expect(Math.abs(react(kinetics, parts).conversion - conversion)).toBeLessThan(1e-8);
    expect(react({ ...kinetics, glass: undefined }, parts).conversion).toBeGreaterThan(conversion + 0.01);
  });
});

describe("the gel point", () => {
  // Flory and Stockmayer, 1/sqrt(r(f − 1)(g − 1)): a textbook formula, from memory; the values are derived from it.
  it.each([
    [3, 2, 1, Math.SQRT1_2],
    [3, 3, 1, 0.5],
    [3, 4, 1, 0.408248],
    [3, 6, 1, 0.316228],
    [3, 2, 0.9, 0.745356],
  ])(
    "of groups A with f = %d on groups B with g = %d at A:B %d is %d",
    (functionalityA, functionalityB, ratio, gel) => {
      expect(gelConversion({ functionalityA, functionalityB, ratio })).toBeCloseTo(gel, 6);
    },
  );
});

/**
 * Eyring's equation for isocyanate on a hydroxylated polyisoprene: ΔH in kJ/mol and ΔS in J/(mol·K) as published in
 * Polymer 46(1), 2005, 15–25 (abstract); the rate constants were derived from them.
 */
describe("an Eyring set as Arrhenius rates about 25 °C", () => {
  it.each([
    ["uncatalysed, primary", 48, -179, 1.08195e-5],
    ["uncatalysed, secondary", 43, -167, 3.44329e-4],
    ["catalysed, primary", 77, 12, 0.851626],
    ["catalysed, secondary", 35, -100, 27.4262],
  ])("%s", (_, enthalpyKJ, entropyJPerK, perSecond) => {
    // E = ΔH + RT and A = (e·k_B·T/h)·exp(ΔS/R) touch Eyring's curve at T.
    const kelvin = 298.15;
    const attemptsPerSecond = (1.380649e-23 * kelvin) / 6.62607015e-34;
    const reaction = {
      preExponentialPerSecond: Math.E * attemptsPerSecond * Math.exp(entropyJPerK / gasConstantJPerMolK),
      activationEnergyKJ: enthalpyKJ + (gasConstantJPerMolK * kelvin) / 1000,
    };
    const law = new KineticLaw({ model: "nth-order", reaction, order: 2, initialConversion: 0, validC });
    expect(law.ratePerMinute(0, 25) / 60 / perSecond).toBeCloseTo(1, 5);
  });
});
