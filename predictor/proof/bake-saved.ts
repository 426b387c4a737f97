/** What drying in air took, beside the conventional bake that it stood in for. */
import { type AirHandling, type AirPiece, type Energy, type EnergySettings, energyOf } from "../plan/energy.ts";
import { conventionalBakeEnergy, waitPiece } from "../plan/plan-energy.ts";

/** Air this warm while a coat dries was no drying in air; assumed. */
export const bakedFromC = 40;

/** Of a coat, what the reckoning asks for. */
export interface DriedCoat {
  carId: string;
  fromMs: number;
  untilMs: number;
  /** The warmest air; null where nothing is known of it. */
  warmestC: number | null;
}

/** Coats of one car that one bake would have done for: they dried at once, or one was laid on before the other was ready. */
export interface Drying {
  carId: string;
  fromMs: number;
  untilMs: number;
  coats: number;
}

/** A stay of the car while it dried. */
export interface DryingStay {
  place: string;
  minutes: number;
  /** Mean of the air; null where nothing is known of it. */
  insideC: number | null;
  outdoorC: number | null;
}

export interface BakeSaved {
  /** Dryings in air that are counted, and their coats. */
  dryings: number;
  coats: number;
  /** Coats left out: they were baked, or nothing is known of their air or of the air outdoors. */
  baked: number;
  unknown: number;
  bakes: Energy;
  drying: Energy;
  /** The bakes less the drying: below 0 where drying took more. */
  saved: Energy;
}

const nothing: Energy = { heatKWh: 0, fuelKWh: 0, fansKWh: 0, cost: 0, co2Kg: 0 };

/** Coats that were baked, or of which it is not known, belong to no drying. */
export function dryingsOf(coats: Iterable<DriedCoat>): { dryings: Drying[]; baked: number; unknown: number } {
  const byCar = new Map<string, Drying[]>();
  let [baked, unknown] = [0, 0];
  for (const { carId, fromMs, untilMs, warmestC } of [...coats].sort((a, b) => a.fromMs - b.fromMs)) {
    if (warmestC === null) unknown++;
    else if (warmestC >= bakedFromC) baked++;
    else {
      const ofCar = byCar.get(carId) ?? [];
      byCar.set(carId, ofCar);
      const last = ofCar.at(-1);
      if (last !== undefined && fromMs <= last.untilMs) {
        last.untilMs = Math.max(last.untilMs, untilMs);
        last.coats++;
      } else ofCar.push({ carId, fromMs, untilMs, coats: 1 });
    }
  }
  return { dryings: [...byCar.values()].flat(), baked, unknown };
}

/** Air handling by place; null where no air is handled for the sake of a coat. */
export type Handlings = Readonly<Record<string, AirHandling | null>>;

/**
 * Each drying beside one bake as the shop file has it, with the air outdoors of that time. In a place that handles air its flash-off air ran while
 * the coat dried, heated to what was measured there; elsewhere drying costs nothing here. Where no place can bake there is nothing to compare.
 */
export function bakeSaved(
  dryings: readonly { drying: Drying; stays: readonly DryingStay[] }[],
  settings: EnergySettings,
  airHandling: Handlings,
  leftOut: { baked: number; unknown: number },
): BakeSaved {
  const places = Object.fromEntries(
    Object.entries(airHandling).map(([place, handling]) => [place, { airHandling: handling }]),
  );
  const sum: BakeSaved = { dryings: 0, coats: 0, ...leftOut, bakes: nothing, drying: nothing, saved: nothing };
  for (const { drying, stays } of dryings) {
    const first = stays[0];
    const outdoorC = first?.outdoorC ?? null;
    const bake = first && outdoorC !== null ? conventionalBakeEnergy({ settings, outdoorC }, first, places) : null;
    const pieces = stays.map((stay) => pieceOf(stay, airHandling));
    if (bake === null || pieces.includes(undefined)) {
      sum.unknown += drying.coats;
      continue;
    }
    const took = energyOf(
      pieces.filter((piece) => piece !== null && piece !== undefined),
      settings,
    );
    sum.dryings++;
    sum.coats += drying.coats;
    sum.bakes = plus(sum.bakes, bake);
    sum.drying = plus(sum.drying, took);
  }
  return { ...sum, saved: plus(sum.bakes, sum.drying, -1) };
}

/** Null where drying costs nothing here, undefined where it is not known. */
function pieceOf(
  { place, minutes, insideC, outdoorC }: DryingStay,
  airHandling: Handlings,
): AirPiece | null | undefined {
  const handling = airHandling[place] ?? null;
  if (handling === null) return null;
  return insideC === null || outdoorC === null ? undefined : waitPiece(handling, insideC, minutes, outdoorC);
}

function plus(a: Energy, b: Energy, sign: 1 | -1 = 1): Energy {
  return {
    heatKWh: a.heatKWh + sign * b.heatKWh,
    fuelKWh: a.fuelKWh + sign * b.fuelKWh,
    fansKWh: a.fansKWh + sign * b.fansKWh,
    cost: a.cost + sign * b.cost,
    co2Kg: a.co2Kg + sign * b.co2Kg,
  };
}
