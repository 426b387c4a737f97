/** Places, a sheet and a toy coat for the tests beside this file; invented. */
import type { Ahead, ClimateReading, Outcome, StageOutcome } from "../cure/climb.ts";
import { type Sheet, type StageName, sheetSchema } from "../cure/sheet.ts";
import { type AirHandling, type EnergySettings, energySchema } from "./energy.ts";
import type { ShopPlace } from "./plan-energy.ts";

export const minute = 60_000;
export const hour = 60 * minute;

/** A place that stays as it is. */
export const steady = (airC: number, more: Partial<ShopPlace> = {}): ShopPlace => ({
  nowMs: 0,
  airC,
  rhPercent: 50,
  panelC: null,
  hours: [],
  ...more,
});

export const handling: AirHandling = {
  bakeM3PerHour: 12_000,
  recirculatedPercent: 80,
  flashOffM3PerHour: 6_000,
  fansKW: 6,
  warmUpMinutes: 10,
};

export const settings: EnergySettings = energySchema.parse({
  currency: "EUR",
  heat: { pricePerKWh: 0.1, co2KgPerKWh: 0.2, source: "invented", year: 2026 },
  electricity: { pricePerKWh: 0.3, co2KgPerKWh: 0.4, source: "invented", year: 2026 },
  burnerEfficiency: 0.8,
  airHandling: { booth: handling },
});

export const sheetWith = (more: object = {}): Sheet =>
  sheetSchema.parse({
    id: "invented",
    revision: 1,
    name: "Invented",
    kind: "sealer",
    film: { dryUm: 20 },
    stages: [
      { stage: "overcoat", minutesAtC: { 20: 20 } },
      { stage: "sand", minutesAtC: { 20: 60 } },
      { stage: "full-cure", minutesAtC: { 20: 1440 } },
    ],
    ...more,
  });

const toyStages: [StageName, number][] = [
  ["overcoat", 20],
  ["sand", 60],
  ["full-cure", 1440],
];

/**
 * A coat that knows nothing of the cure model: at 20 °C its stages take the minutes above, twice as fast per 10 K of air,
 * and 1.25 times as long to be safe. Its windows close 120 minutes after the finish, and when sanding is likely.
 */
export function toyCoat(finishedAtMs = 0, nowC = 20): { outcome(asOfMs: number, ahead?: Ahead): Outcome } {
  return {
    outcome(asOfMs, { likely } = { likely: [] }) {
      const held = { atMs: Number.NEGATIVE_INFINITY, airC: nowC };
      const whenAged = (aged: number) => finishedAtMs + minutesUntil(aged, finishedAtMs, [held, ...likely]) * minute;
      const stages = toyStages.map(([stage, minutes]): StageOutcome => {
        const likelyAtMs = whenAged(minutes);
        const safeAtMs = whenAged(1.25 * minutes);
        return {
          stage,
          curePercent: minutes / 14.4,
          reached: likelyAtMs <= asOfMs,
          likelyAtMs,
          likelyMinutes: (likelyAtMs - finishedAtMs) / minute,
          safeAtMs,
          safeMinutes: (safeAtMs - finishedAtMs) / minute,
          isCovered: true,
        };
      });
      const sandAtMs = stages[1]?.likelyAtMs ?? null;
      return {
        asOfMs,
        curePercent: Math.min(100, ageAt(asOfMs, finishedAtMs, [held, ...likely]) / 14.4),
        equivalentMinutes: null,
        stages,
        windowClosesAtMs: [finishedAtMs + 2 * hour, sandAtMs],
        panelC: 20,
        panelEstimated: true,
        notes: [],
      };
    },
  };
}

type Air = Pick<ClimateReading, "atMs" | "airC">;

/** Minutes at 20 °C that a coat has seen by an instant; the air of the last reading before holds. */
function ageAt(untilMs: number, fromMs: number, air: readonly Air[]): number {
  return air.reduce((age, { atMs, airC }, index) => {
    const endMs = Math.min(air[index + 1]?.atMs ?? Number.POSITIVE_INFINITY, untilMs);
    return age + (Math.max(0, endMs - Math.max(atMs, fromMs)) / minute) * 2 ** ((airC - 20) / 10);
  }, 0);
}

function minutesUntil(aged: number, fromMs: number, air: readonly Air[]): number {
  const last = air.findLast(({ atMs }) => ageAt(atMs, fromMs, air) <= aged) as Air;
  const sinceMs = Math.max(last.atMs, fromMs);
  return (sinceMs - fromMs) / minute + (aged - ageAt(sinceMs, fromMs, air)) / 2 ** ((last.airC - 20) / 10);
}
