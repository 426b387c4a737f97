/** Temperature histories fed to the cure model, for checks against published and derived numbers. */
import type { ClimateReading } from "../../predictor/cure/climb.ts";
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { readSheet } from "../../predictor/cure/ladder.ts";
import { gasConstantJPerMolK } from "../../predictor/cure/time-curve.ts";

/** Panel temperature in °C at minutes since the finish. */
export type History = { minutes: number; panelC: number }[];

/** Temperatures held one after the other, read every five minutes at most; they change in a step. */
export function held(...parts: { panelC: number; minutes: number }[]): History {
  let start = 0;
  return parts.flatMap(({ panelC, minutes }) => {
    const from = start;
    start += minutes;
    const count = Math.ceil(minutes / 5);
    return Array.from({ length: count + 1 }, (_, i) => ({ minutes: from + (minutes * i) / count, panelC }));
  });
}

/** A coat of one stage, full cure at 20 °C after `fullCureMinutes`, and activation energy E given as E/R in kelvin. */
export function climbOf(history: History, activationK: number, fullCureMinutes: number): CoatClimb {
  const read = readSheet({
    id: "check",
    revision: 1,
    name: "Invented",
    invented: true,
    kind: "clearcoat",
    film: { dryUm: 50 },
    activationEnergyKJ: (activationK * gasConstantJPerMolK) / 1000,
    stages: [{ stage: "full-cure", minutesAtC: { "20": fullCureMinutes } }],
  });
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  const climb = new CoatClimb({ ladder: read.ladder, finishedAtMs: 0, substrate: "steel" });
  for (const { minutes, panelC } of history) {
    const reading: ClimateReading = { atMs: minutes * 60_000, airC: panelC, rhPercent: 50, panelC };
    climb.append(reading);
  }
  return climb;
}

/** Minutes at 20 °C that the model holds a history to be worth. */
export function equivalentMinutes(history: History, activationK: number): number {
  const end = history[history.length - 1]?.minutes ?? 0;
  return climbOf(history, activationK, 1e6).outcome(end * 60_000).equivalentMinutes ?? Number.NaN;
}
