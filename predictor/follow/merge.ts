/** Joins the separate lines of a place's sensors into readings of its climate: one for each air temperature. */
import { isUsable, type Mark, type Quantity } from "../../collector/readings.ts";
import type { ClimateReading } from "../cure/climb.ts";

/** A panel or air-speed value older than this is not joined to a newer air temperature; a longer silence is a gap. */
export const gapMs = 10 * 60_000;
/** Where no humidity sensor tells: the reference of ISO 3270. */
export const assumedRhPercent = 50;

export interface PlaceReading {
  quantity: Quantity;
  atMs: number;
  value: number;
  mark?: Mark;
}

/** Order in which a merger takes readings: by time, and air temperature last within one instant, since it completes it. */
export function byTimeThenAirLast(a: PlaceReading, b: PlaceReading): number {
  return a.atMs - b.atMs || Number(a.quantity === "air-temperature") - Number(b.quantity === "air-temperature");
}

/**
 * Takes one place's readings in order of time and gives a climate reading for each air temperature. Humidity, panel and
 * air speed are the newest known at that instant. The same readings give the same result, live or from the store.
 */
export class ClimateMerger {
  readonly #usualAirSpeedMps: number | undefined;
  readonly #newest = new Map<Quantity, PlaceReading>();

  /** `usualAirSpeedMps`: what the shop file says of a place without an anemometer. */
  constructor(usualAirSpeedMps?: number) {
    this.#usualAirSpeedMps = usualAirSpeedMps;
  }

  /** Readings that are of no use are passed over. */
  push(reading: PlaceReading): ClimateReading | null {
    if (!isUsable(reading)) return null;
    const known = this.#newest.get(reading.quantity);
    if (known === undefined || known.atMs < reading.atMs) this.#newest.set(reading.quantity, reading);
    if (reading.quantity !== "air-temperature") return null;
    const panelC = this.#recent("panel-temperature", reading.atMs);
    const airSpeedMps = this.#recent("air-speed", reading.atMs) ?? this.#usualAirSpeedMps;
    return {
      atMs: reading.atMs,
      airC: reading.value,
      rhPercent: this.#newest.get("air-humidity")?.value ?? assumedRhPercent,
      ...(panelC === undefined ? {} : { panelC }),
      ...(airSpeedMps === undefined ? {} : { airSpeedMps }),
    };
  }

  /** Whether a reading came too late for this merger: what it tells of was given on already, without it. */
  isLate(reading: PlaceReading): boolean {
    const givenMs = this.#newest.get("air-temperature")?.atMs ?? Number.NEGATIVE_INFINITY;
    if (reading.atMs <= givenMs) return true;
    return (
      reading.quantity === "air-temperature" && [...this.#newest.values()].some((each) => each.atMs > reading.atMs)
    );
  }

  #recent(quantity: Quantity, atMs: number): number | undefined {
    const reading = this.#newest.get(quantity);
    return reading !== undefined && atMs - reading.atMs <= gapMs ? reading.value : undefined;
  }
}
