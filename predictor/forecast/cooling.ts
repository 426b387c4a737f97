/** How fast a place cools once its heating is off, and towards what. */
import {
  gridOf,
  type HalfHour,
  type HeatingHours,
  halfHourMs,
  halfHoursADay,
  isHeated,
  type LocalHalfHour,
} from "./half-hours.ts";
import type { Profile } from "./profile.ts";

/** The time constant of a place that it cannot be learned for, hours (assumed). */
const assumedHours = 5;
/** A learned time constant outside is a fault of the data and drawn in (assumed). */
const leastHours = 0.5;
const mostHours = 48;
/** Fewer unheated half hours than this teach nothing (assumed: a day of them). */
const leastHalfHours = halfHoursADay;
/** Nearer to its rest than this a place tells nothing about how it gets there, K (assumed). */
const leastAboveK = 0.5;

export interface Cooling {
  timeConstantHours: number;
  /** False where the time constant is the assumed one. */
  learned: boolean;
  /** The coldest of what is usual, °C: the rest where nothing is known of outdoors. */
  coldestC: number;
  /** How much warmer than outdoors the place comes to rest, K; 0 where that is not known, which is the careful side. */
  aboveOutdoorK: number;
}

/**
 * Least squares over the unheated half hours of the past. With outdoor temperatures: change = (offset − (air − outdoor))
 * × share, both unknown; without: change = (coldest − air) × share. The time constant is −½ h ÷ ln(1 − share).
 */
export function learnCooling(
  airC: Float64Array,
  startMs: number,
  locals: readonly LocalHalfHour[],
  profile: Profile,
  heating: HeatingHours | undefined,
  outdoorPast: readonly HalfHour[] = [],
): Cooling {
  const coldestC = Math.min(...profile.byWeekday.slice(1).map((table) => Math.min(...table)));
  const unlearned = { timeConstantHours: assumedHours, learned: false, coldestC, aboveOutdoorK: 0 };
  if (heating === undefined) return unlearned;
  const outdoor = outdoorOn(startMs, airC.length, outdoorPast);
  const hasOutdoor = outdoor.some((value) => !Number.isNaN(value));
  const above: number[] = [];
  const changes: number[] = [];
  for (let i = 0; i + 1 < airC.length; i++) {
    if (isHeated(locals[i] as LocalHalfHour, heating) || isHeated(locals[i + 1] as LocalHalfHour, heating)) continue;
    const aboveK = (airC[i] as number) - (hasOutdoor ? (outdoor[i] as number) : coldestC);
    const change = (airC[i + 1] as number) - (airC[i] as number);
    if (Number.isNaN(aboveK + change) || !(hasOutdoor || aboveK > leastAboveK)) continue;
    above.push(aboveK);
    changes.push(change);
  }
  if (above.length < leastHalfHours) return unlearned;
  const meanAbove = hasOutdoor ? meanOf(above) : 0;
  const meanChange = hasOutdoor ? meanOf(changes) : 0;
  let products = 0;
  let squares = 0;
  for (const [i, aboveK] of above.entries()) {
    products += (aboveK - meanAbove) * ((changes[i] as number) - meanChange);
    squares += (aboveK - meanAbove) ** 2;
  }
  const share = -products / squares;
  if (!(share > 0 && share < 1)) return unlearned;
  const hours = -0.5 / Math.log(1 - share);
  return {
    timeConstantHours: Math.min(mostHours, Math.max(leastHours, hours)),
    learned: true,
    coldestC,
    aboveOutdoorK: hasOutdoor ? Math.max(0, meanAbove + meanChange / share) : 0,
  };
}

function outdoorOn(startMs: number, length: number, past: readonly HalfHour[]): Float64Array {
  const values = new Float64Array(length).fill(Number.NaN);
  const grid = gridOf(past, Math.ceil(length / halfHoursADay) + 1);
  const shift = Math.round((grid.startMs - startMs) / halfHourMs);
  for (const [i, value] of grid.airC.entries()) if (i + shift >= 0 && i + shift < length) values[i + shift] = value;
  return values;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
