/** Invented kinetics and a climb along histories, for the tests. */
import { conditions, type Part, stretchOf } from "./example-history.ts";
import { KineticAscent } from "./kinetic-ascent.ts";
import { type Kinetics, kineticsSchema } from "./kinetics.ts";

export const validC = { min: 0, max: 60 };
export const glass = { tgUncuredC: -40, tgCuredC: 60, lambda: 0.35, diffusionAtTgPerSecond: 1e-3 };
export const secondOrder = kineticsSchema.parse({
  model: "nth-order",
  reaction: { preExponentialPerSecond: 2e4, activationEnergyKJ: 50 },
  order: 2,
  validC,
});
const finite = { ...secondOrder, order: 0.87 };
export const kamalSourour = kineticsSchema.parse({
  model: "kamal-sourour",
  reaction: { preExponentialPerSecond: 5e7, activationEnergyKJ: 70 },
  autocatalysis: { preExponentialPerSecond: 1.6e5, activationEnergyKJ: 50 },
  autocatalyticOrder: 0.8,
  order: 1.4,
  validC,
});
export const vitrifying = kineticsSchema.parse({ ...kamalSourour, glass });
export const exampleKinetics: [string, Kinetics][] = [
  ["second order", secondOrder],
  ["order 0.87", finite],
  ["Kamal–Sourour", kamalSourour],
  ["Kamal–Sourour with a glass", vitrifying],
];

export const stages = [
  { stage: "dust-free", curePercent: 20 },
  { stage: "sand", curePercent: 50 },
  { stage: "full-cure", curePercent: 100 },
] as const;
export const stageNumbers = [0, 1, 2];

export function begin(kinetics: Kinetics, startC: number, uncertaintyC = 0.3, rateFactor = 1): KineticAscent {
  const ascent = new KineticAscent({ kinetics, stages, uncertaintyC, rateFactor });
  ascent.stepTo(conditions(0, startC));
  return ascent;
}

/** Climbs along parts, with a step wherever one does not begin where the last one ended; tells where the time has come to. */
export function climb(ascent: KineticAscent, parts: readonly Part[], from = 0): number {
  let minutes = from;
  for (const part of parts) {
    if (part.fromC !== ascent.panelAt(minutes)) ascent.stepTo(conditions(minutes, part.fromC));
    ascent.along(stretchOf(minutes, part));
    minutes += part.minutes;
  }
  return minutes;
}

/** All that can be asked of an ascent when what there is now holds on. */
export function answers(ascent: KineticAscent, at: readonly number[] = [0, 30, 200, 2000]): number[] {
  return ascent.project(
    () => {},
    () => [
      ...stageNumbers.flatMap((k) => [
        ascent.likelyMinutes(k),
        ascent.loweredMinutes(k),
        ascent.minutesAtFactor(k, 0.8),
      ]),
      ...at.flatMap((minutes) => Object.values(ascent.progressAt(minutes))),
      ...at.map((minutes) => ascent.panelAt(minutes)),
      ascent.minutesUntil(300, (panelC) => Math.exp(panelC / 20)),
      ascent.stallsAtPercent() ?? -1,
    ],
  );
}
