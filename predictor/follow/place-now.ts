/** The newest value of each quantity in each place, and how often it usually comes. */
import { isUsable, type Mark, type Quantity } from "../../collector/readings.ts";
import type { PlaceReading } from "./merge.ts";

export interface CurrentValue {
  value: number;
  atMs: number;
  /** `<collector>/<sensor>` */
  sensor: string;
  /** Median of the last intervals; null until there are three. */
  cadenceMs: number | null;
}

export interface NewestReading {
  value: number;
  atMs: number;
  /** `<collector>/<sensor>` */
  sensor: string;
  mark?: Mark;
}

const intervalsKept = 9;
/** Fewer tell no cadence: a backlog or a restart can put two readings close together. */
const intervalsNeeded = 3;

/** A place's present: the newest value of use of each quantity, and the newest reading whatever it is. */
export class PlaceNow {
  readonly #values = new Map<Quantity, { value: number; atMs: number; sensor: string; intervalsMs: number[] }>();
  readonly #newest = new Map<Quantity, NewestReading>();

  take(reading: PlaceReading, sensor: string): void {
    const { quantity, atMs, value, mark } = reading;
    if (!(atMs < (this.#newest.get(quantity)?.atMs ?? Number.NEGATIVE_INFINITY))) {
      this.#newest.set(quantity, { value, atMs, sensor, ...(mark && { mark }) });
    }
    if (!isUsable(reading)) return;
    const before = this.#values.get(reading.quantity);
    if (before !== undefined && reading.atMs <= before.atMs) return;
    const intervalsMs =
      before === undefined ? [] : [...before.intervalsMs, reading.atMs - before.atMs].slice(-intervalsKept);
    this.#values.set(reading.quantity, { value: reading.value, atMs: reading.atMs, sensor, intervalsMs });
  }

  /** The newest reading, of use or not. */
  newest(quantity: Quantity): NewestReading | undefined {
    return this.#newest.get(quantity);
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
