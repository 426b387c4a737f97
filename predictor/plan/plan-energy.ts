/** What a plan takes in energy, beside today's way and a conventional bake. */
import { type AirHandling, type AirPiece, type Energy, type EnergySettings, energyOf } from "./energy.ts";
import { meanAirC, type PlaceAhead } from "./place-ahead.ts";
import { type PlanStart, type PlanStep, spansOf } from "./plan-step.ts";

/** A place that a plan may use. */
export interface ShopPlace extends PlaceAhead {
  /** Null or absent where no air is handled for the sake of a coat, such as a yard: standing there costs nothing here. */
  airHandling?: AirHandling | null;
}

export interface EnergyQuestion {
  settings: EnergySettings;
  outdoorC: number;
}

type Places = Readonly<Record<string, ShopPlace>>;

const msPerMinute = 60_000;

/**
 * Energy of a plan from now until an instant. While the car stands in a place that handles air, that place's flash-off air
 * runs, made up from outdoors and heated to the place's likely temperature; it ends when the car leaves, and when the plan
 * switches the heating off. A bake runs the place's bake air, for its warm-up too. With no steps this is today's way: the
 * coat waits where it is.
 */
export function planEnergy(
  { settings, outdoorC }: EnergyQuestion,
  steps: readonly PlanStep[],
  start: PlanStart,
  places: Places,
  untilMs: number,
): Energy {
  const pieces = spansOf(steps, start).flatMap((span) => {
    const toMs = Math.min(span.toMs, untilMs);
    const place = places[span.place];
    const handling = place?.airHandling ?? null;
    if (place === undefined || handling === null || !(toMs > span.fromMs)) return [];
    if (span.bakeC !== null) return [bakePiece(handling, span.bakeC, (toMs - span.fromMs) / msPerMinute, outdoorC)];
    if (span.heatingOffAtMs !== null) return [];
    const insideC = meanAirC(place, span.fromMs, toMs);
    return [waitPiece(handling, insideC, (toMs - span.fromMs) / msPerMinute, outdoorC)];
  });
  return energyOf(pieces, settings);
}

/** The shop's conventional bake where the car stands or, where no air is handled there, in the first place with a bake; null without any. */
export function conventionalBakeEnergy(
  { settings, outdoorC }: EnergyQuestion,
  start: Pick<PlanStart, "place">,
  places: Readonly<Record<string, Pick<ShopPlace, "airHandling">>>,
): Energy | null {
  const handling =
    places[start.place]?.airHandling ?? Object.values(places).find(({ airHandling }) => airHandling)?.airHandling;
  if (!handling) return null;
  const { bakeC, minutes } = settings.conventionalBake;
  return energyOf([bakePiece(handling, bakeC, minutes, outdoorC)], settings);
}

function bakePiece(handling: AirHandling, bakeC: number, minutes: number, outdoorC: number): AirPiece {
  return {
    m3PerHour: handling.bakeM3PerHour,
    freshShare: 1 - handling.recirculatedPercent / 100,
    outdoorC,
    insideC: bakeC,
    minutes: minutes + handling.warmUpMinutes,
    fansKW: handling.fansKW,
  };
}

/** A coat that flashes off or dries in a place without a bake. */
export function waitPiece(handling: AirHandling, insideC: number, minutes: number, outdoorC: number): AirPiece {
  return {
    m3PerHour: handling.flashOffM3PerHour,
    freshShare: 1,
    outdoorC,
    insideC,
    minutes,
    fansKW: handling.fansKW,
  };
}
