/** The newest value of each quantity in each place, and how often it usually comes. */
import type { Quantity } from "../../collector/readings.ts";
import type { PlaceReading } from "./merge.ts";

export interface CurrentValue {
  value: number;
  atMs: number;
  /** `<collector>/<sensor>` */
  sensor: string;
  /** Median of the last intervals; null until there are three. */
  cadenceMs: number | null;
}

const intervalsKept = 9;
/** Fewer tell no cadence: a backlog or a restart can put two readings close together. */
const intervalsNeeded = 3;

/** A place's present: values by quantity. Values that can be no measurement must be left out by the caller. */
export class PlaceNow {
  readonly #values = new Map<Quantity, { value: number; atMs: number; sensor: string; intervalsMs: number[] }>();

  take(reading: PlaceReading, sensor: string): void {
    const before = this.#values.get(reading.quantity);
    if (before !== undefined && reading.atMs <= before.atMs) return;
    const intervalsMs =
      before === undefined ? [] : [...before.intervalsMs, reading.atMs - before.atMs].slice(-intervalsKept);
    this.#values.set(reading.quantity, { value: reading.value, atMs: reading.atMs, sensor, intervalsMs });
  }

  get(quantity: Quantity): CurrentValue | undefined {
    const held = this.#values.get(quantity);
    if (held === undefined) return undefined;
    const sorted = [...held.intervalsMs].sort((a, b) => a - b);
    return {
      value: held.value,
      atMs: held.atMs,
      sensor: held.sensor,
      cadenceMs: sorted.length < intervalsNeeded ? null : (sorted[Math.floor(sorted.length / 2)] ?? null),
    };
  }
}

/** Whether a value may still be shown as current: not older than twice its cadence (than two minutes, while that is unknown). */
export function isCurrent(current: CurrentValue, nowMs: number): boolean {
  return nowMs - current.atMs <= staleAfterMs(current);
}

/** How old a value may be and still be shown as current. */
export function staleAfterMs(current: CurrentValue): number {
  // Readings travel too: half a second of grace keeps a fast sensor from flickering between current and stale.
  return current.cadenceMs === null ? 120_000 : 2 * current.cadenceMs + 500;
}
