/** What one place will be like from now on, as the readings that a coat standing there would get. */
import { rhAtSurfacePercent } from "../air/humidity.ts";
import type { Ahead, ClimateReading } from "../cure/climb.ts";

/** The air of a forecast at one instant: as it likely is, and so cold that it is colder one time in ten. */
export interface AirAhead {
  atMs: number;
  airC: number;
  coldC: number;
}

/** What is known of a place now, and its forecast. */
export interface PlaceAhead {
  nowMs: number;
  airC: number;
  rhPercent: number;
  /** What the place's panel sensor says; null where there is none. */
  panelC: number | null;
  /** The sheet's own when absent. */
  airSpeedMps?: number;
  /** In order of time; those up to now are not used, the last one holds on. */
  hours: readonly AirAhead[];
  /** The hours from when the heating is switched off; absent where it is not known how the place cools. */
  coolingFrom?: (offAtMs: number) => readonly AirAhead[];
}

/** A panel's present difference from the air fades with this time constant; assumed. */
const panelDifferenceFadesMs = 2 * 3_600_000;

/**
 * The place's conditions from one instant to another, both as they likely are and along the cold edge: the air after the
 * forecast, the vapour in it as now, and a measured panel at its present distance from the air, fading. Without an end,
 * as far as the forecast goes; before now, what is now.
 */
export function aheadOf(place: PlaceAhead, fromMs: number, toMs = Number.POSITIVE_INFINITY): Required<Ahead> {
  const { nowMs, airC, hours } = place;
  const course: AirAhead[] = [{ atMs: nowMs, airC, coldC: airC }, ...hours.filter((hour) => hour.atMs > nowMs)];
  const between = course.map(({ atMs }) => atMs).filter((atMs) => atMs > fromMs && atMs < toMs);
  const instants = [fromMs, ...between, ...(Number.isFinite(toMs) && toMs > fromMs ? [toMs] : [])];
  return {
    likely: instants.map((atMs) => readingAt(place, atMs, valueAt(course, atMs, "airC"))),
    cold: instants.map((atMs) => readingAt(place, atMs, valueAt(course, atMs, "coldC"))),
  };
}

/** The place with its heating switched off at an instant, after which it cools. */
export function cooled(place: PlaceAhead, offAtMs: number): PlaceAhead {
  const { coolingFrom, ...rest } = place;
  if (coolingFrom === undefined) return rest;
  const { likely, cold } = aheadOf(place, offAtMs, offAtMs);
  const off = { atMs: offAtMs, airC: likely[0]?.airC ?? Number.NaN, coldC: cold[0]?.airC ?? Number.NaN };
  const before = place.hours.filter((hour) => hour.atMs < offAtMs);
  const after = coolingFrom(offAtMs).filter((hour) => hour.atMs > offAtMs);
  return { ...rest, hours: [...before, off, ...after] };
}

/** Mean of the place's likely air over a time, in °C. */
export function meanAirC(place: PlaceAhead, fromMs: number, toMs: number): number {
  const { likely } = aheadOf(place, fromMs, toMs);
  if (!(toMs > fromMs)) return likely[0]?.airC ?? Number.NaN;
  let sum = 0;
  likely.forEach((reading, index) => {
    const next = likely[index + 1];
    if (next !== undefined) sum += ((reading.airC + next.airC) / 2) * (next.atMs - reading.atMs);
  });
  return sum / (toMs - fromMs);
}

/** The humidity in percent, at most 100, that the place's present vapour makes at another air temperature. */
export function humidityInPlace(place: PlaceAhead, airC: number): number {
  return Math.min(100, rhAtSurfacePercent(place.airC, place.rhPercent, airC));
}

function readingAt(place: PlaceAhead, atMs: number, airC: number): ClimateReading {
  const { nowMs, panelC, airSpeedMps } = place;
  const reading: ClimateReading = { atMs, airC, rhPercent: humidityInPlace(place, airC) };
  if (airSpeedMps !== undefined) reading.airSpeedMps = airSpeedMps;
  if (panelC !== null) {
    const left = Math.exp(-Math.max(0, atMs - nowMs) / panelDifferenceFadesMs);
    reading.panelC = airC + (panelC - place.airC) * left;
  }
  return reading;
}

/** Evenly between two hours; held before the first and after the last. */
function valueAt(course: readonly AirAhead[], atMs: number, key: "airC" | "coldC"): number {
  const index = course.findIndex((hour) => hour.atMs >= atMs);
  const after = index < 0 ? course.at(-1) : course[index];
  const before = course[index - 1] ?? after;
  if (after === undefined || before === undefined) return Number.NaN;
  const span = after.atMs - before.atMs;
  return span > 0 ? before[key] + ((after[key] - before[key]) * (atMs - before.atMs)) / span : after[key];
}
