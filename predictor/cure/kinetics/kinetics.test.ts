import { describe, expect, it } from "vitest";
import { faultLines } from "../../faults.ts";
import { kineticsFaults } from "./kinetic-stages.ts";
import { kineticsSchema } from "./kinetics.ts";

const validC = { min: 10, max: 60 };
const reaction = { preExponentialPerSecond: 2e4, activationEnergyKJ: 50 };
const none = { preExponentialPerSecond: 0, activationEnergyKJ: 50 };
const nthOrder = { model: "nth-order", reaction, order: 2, validC };
const kamalSourour = {
  model: "kamal-sourour",
  reaction,
  autocatalysis: reaction,
  autocatalyticOrder: 0.8,
  order: 1.4,
  validC,
};
const glass = { tgUncuredC: -40, tgCuredC: 60, lambda: 0.35, diffusionAtTgPerSecond: 1e-3 };

function faultsOf(input: unknown): string[] {
  const parsed = kineticsSchema.safeParse(input);
  return parsed.success ? [] : faultLines(parsed.error, input).map(({ path, expected }) => `${path}: ${expected}`);
}

describe("kineticsSchema", () => {
  it("takes both models, starts at no conversion, and takes the universal WLF constants where none are given", () => {
    expect(kineticsSchema.parse(nthOrder).initialConversion).toBe(0);
    expect(kineticsSchema.parse({ ...kamalSourour, glass }).glass).toEqual({ ...glass, wlfC1: 40.16, wlfC2K: 51.6 });
  });
  it("takes a pure autocatalysis with a seed", () => {
    expect(faultsOf({ ...kamalSourour, reaction: none, initialConversion: 0.01 })).toEqual([]);
  });
  it.each([
    ["an unknown model", { ...nthOrder, model: "other" }],
    ["a reaction that never starts", { ...nthOrder, reaction: none }],
    ["a pure autocatalysis without a seed", { ...kamalSourour, reaction: none }],
    [
      "a seed with nothing that reacts",
      { ...kamalSourour, reaction: none, autocatalysis: none, initialConversion: 0.1 },
    ],
    ["autocatalysis in n-th order", { ...nthOrder, autocatalysis: reaction }],
    ["no temperatures that it holds for", { ...nthOrder, validC: undefined }],
    ["temperatures in the wrong order", { ...nthOrder, validC: { min: 60, max: 10 } }],
    ["a glass that softens with cure", { ...nthOrder, glass: { ...glass, tgCuredC: -50 } }],
    ["an order below 0", { ...nthOrder, order: -1 }],
  ])("refuses %s", (_, input) => {
    expect(faultsOf(input).length).toBeGreaterThan(0);
  });
});

describe("kineticsFaults", () => {
  const stages = [
    { stage: "dust-free", curePercent: 20 },
    { stage: "sand", curePercent: 50 },
    { stage: "full-cure", curePercent: 100 },
  ] as const;

  it("finds nothing where all stages lie above the start and the solid ones above the gel point", () => {
    const gel = { functionalityA: 3, functionalityB: 4 };
    expect(kineticsFaults(kineticsSchema.parse({ ...nthOrder, gel }), stages)).toEqual([]);
    expect(kineticsFaults(kineticsSchema.parse(nthOrder), stages)).toEqual([]);
  });
  it("names sanding before the film has gelled", () => {
    const gel = { functionalityA: 3, functionalityB: 3 };
    expect(kineticsFaults(kineticsSchema.parse({ ...nthOrder, gel }), stages)).toMatchObject([
      { path: "stages.1.curePercent", expected: "52.6 or more, where the film gels, for sand", found: "50" },
    ]);
  });
  it("names a stage that is passed at the finish", () => {
    expect(kineticsFaults(kineticsSchema.parse({ ...nthOrder, initialConversion: 0.19 }), stages)).toMatchObject([
      { path: "stages.0.curePercent", expected: "more than 20.0, initialConversion", found: "20" },
    ]);
  });
});
