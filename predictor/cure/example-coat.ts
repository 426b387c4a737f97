/** Ladders, readings and climbs for the tests beside this file; invented. */
import type { ClimateReading, CoatSetup } from "./climb.ts";
import { CoatClimb } from "./coat-climb.ts";
import { type Ladder, readSheet } from "./ladder.ts";

export const minute = 60_000;

export const sheetOf = (stages: unknown[], more: object = {}): object => ({
  id: "invented",
  revision: 1,
  name: "Invented",
  kind: "clearcoat",
  film: { dryUm: 50 },
  stages,
  ...more,
});

export function ladderOf(stages: unknown[], more: object = {}): Ladder {
  const read = readSheet(sheetOf(stages, more));
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  return read.ladder;
}

export const clear = ladderOf([
  { stage: "dust-free", minutesAtC: { 20: 9, 60: 2.2 }, curePercent: 18 },
  { stage: "demask", minutesAtC: { 20: 30, 40: 13, 60: 6 }, curePercent: 45 },
  { stage: "polish", minutesAtC: { 20: 60, 60: 12 }, curePercent: 66, humiditySensitivity: 0.2 },
  { stage: "full-cure", minutesAtC: { 20: 10080, 60: 1440 } },
]);
export const flash = ladderOf([
  { stage: "touch-dry", minutesAtC: { 20: 6 }, by: "solvent" },
  { stage: "overcoat", minutesAtC: { 20: 14 }, by: "water" },
  { stage: "sand", minutesAtC: { 20: 60, 5: 200 }, by: "moisture" },
  { stage: "full-cure", minutesAtC: { 20: 7200 } },
]);

/** A film that turns to glass in the cold. */
export const glassy = ladderOf(
  [
    { stage: "demask", curePercent: 45 },
    { stage: "polish", curePercent: 80 },
  ],
  {
    kinetics: {
      model: "nth-order",
      reaction: { preExponentialPerSecond: 2e5, activationEnergyKJ: 50 },
      order: 2,
      validC: { min: 10, max: 60 },
      glass: { tgUncuredC: -40, tgCuredC: 60, lambda: 0.35, diffusionAtTgPerSecond: 1e-3 },
    },
  },
);

export const setupOf = (more: Partial<CoatSetup> = {}): CoatSetup => ({
  ladder: clear,
  finishedAtMs: 0,
  substrate: "steel",
  ...more,
});
export const at = (minutes: number, panelC: number | null, more: Partial<ClimateReading> = {}): ClimateReading => ({
  atMs: minutes * minute,
  airC: panelC ?? 20,
  rhPercent: 50,
  panelC,
  ...more,
});
export function climbOf(setup: CoatSetup, readings: ClimateReading[]): CoatClimb {
  const climb = new CoatClimb(setup);
  for (const reading of readings) climb.append(reading);
  return climb;
}
export const likely = (climb: CoatClimb, asOfMinutes = 0) =>
  climb.outcome(asOfMinutes * minute).stages.map((stage) => stage.likelyMinutes);
export const codes = (climb: CoatClimb, asOfMinutes: number) =>
  climb.outcome(asOfMinutes * minute).notes.map((note) => note.code);
