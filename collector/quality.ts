/**
 * Judges what one sensor reads of one quantity: can it be true? A mark travels with its reading. docs/sensors.md says the
 * same for the installer, with what these bounds do to recorded series.
 */
import { type Mark, type Quantity, quantities } from "./readings.ts";
import type { InstrumentSettings } from "./settings.ts";

export type QualityLimits = Pick<InstrumentSettings, "lowest" | "highest" | "fastestPerMinute" | "stuckMinutes">;

interface Usual {
  /** Units a minute, over a minute or more. */
  fastestPerMinute: number;
  /** What two readings may differ by over and above that. */
  jump: number;
  /** How long a sound sensor may read this very value; for ever where it rests. */
  unchangedMinutes: (value: number) => number;
}

/** Air in a room at rest keeps within a sensor's 0.1 K for hours; hot air and hot metal are never at rest. */
const temperatureUnchangedMinutes = (valueC: number) => (valueC > 45 ? 30 : 240);

/** What holds unless the shop file says otherwise. Every figure is assumed, for the reason beside it. */
const usual: Record<Quantity, Usual> = {
  // A booth that heats for a bake gains 4 to 8 K a minute (common practice: 60 °C in 5 to 10 minutes); a door opened in
  // frost does about the same to a sensor near it.
  "air-temperature": { fastestPerMinute: 10, jump: 8, unchangedMinutes: temperatureUnchangedMinutes },
  // Relative humidity halves with every 11 K or so: a booth that gains 8 K a minute falls from 60 % by 24 % in the first.
  // Where moisture condenses a sensor rests at its upper end.
  "air-humidity": {
    fastestPerMinute: 25,
    jump: 20,
    unchangedMinutes: (percent) => (percent >= 99 ? Number.POSITIVE_INFINITY : 120),
  },
  // An infrared lamp heats sheet metal by up to 20 K a minute. Another car before an infrared sensor is a step.
  "panel-temperature": { fastestPerMinute: 20, jump: 10, unchangedMinutes: temperatureUnchangedMinutes },
  // Gusts and fans change the flow in seconds: only what no shop has is marked. In still air an anemometer rests.
  "air-speed": {
    fastestPerMinute: 20,
    jump: 10,
    unchangedMinutes: (speedMps) => (speedMps < 0.1 ? Number.POSITIVE_INFINITY : 120),
  },
  // Fans and doors of a booth shift the pressure by some 10 Pa, the weather's fastest changes are slower than 20 Pa a minute.
  "air-pressure": { fastestPerMinute: 200, jump: 500, unchangedMinutes: () => 240 },
};

/** Readings further apart than this are not compared: much can happen in a gap. */
const comparedWithinMs = 5 * 60_000;
/** So many readings in a row that agree are a new level, not spikes. */
const agreeing = 3;
const minuteMs = 60_000;

/** For one sensor and quantity; its state does not grow. */
export class QualityCheck {
  readonly #lowest: number;
  readonly #highest: number;
  readonly #perMs: number;
  readonly #jump: number;
  readonly #unchangedMinutes: (value: number) => number;
  readonly #stuckMinutes: number | "off" | undefined;
  /** The last reading in range, whatever else was found against it. */
  #last: { atMs: number; value: number } | null = null;
  #unchangedMs = 0;
  /** The last reading that was believed; null when there is none near enough to compare with. */
  #believed: number | null = null;
  /** A believed reading of about a minute ago, from which the rate of change is taken. */
  #minuteAgo: { atMs: number; value: number } | null = null;
  /** Readings in a row far from the believed one that agree with one another. */
  #level: { lowest: number; highest: number; count: number } | null = null;

  constructor(quantity: Quantity, limits: QualityLimits) {
    const known = quantities[quantity];
    const { fastestPerMinute, jump, unchangedMinutes } = usual[quantity];
    this.#lowest = Math.max(known.lowest, limits.lowest ?? known.lowest);
    this.#highest = Math.min(known.highest, limits.highest ?? known.highest);
    this.#perMs = (limits.fastestPerMinute ?? fastestPerMinute) / minuteMs;
    this.#jump = jump;
    this.#unchangedMinutes = unchangedMinutes;
    this.#stuckMinutes = limits.stuckMinutes;
  }

  /**
   * What speaks against a reading; undefined when nothing does. `monotonicMs`: when it was read, on a clock that is never
   * set; readings come in order, and one from before the last counts as of the same moment. Takes any value, NaN too.
   */
  judge(monotonicMs: number, value: number): Mark | undefined {
    if (!(value >= this.#lowest && value <= this.#highest)) {
      this.#level = null;
      return { quality: "bad", why: "out of range" };
    }
    const last = this.#last;
    const atMs = Math.max(monotonicMs, last?.atMs ?? monotonicMs);
    const elapsedMs = last === null ? Number.POSITIVE_INFINITY : atMs - last.atMs;
    this.#last = { atMs, value };
    this.#unchangedMs = value === last?.value ? this.#unchangedMs + Math.min(elapsedMs, comparedWithinMs) : 0;
    if (elapsedMs > comparedWithinMs) this.#forget();
    if (this.#isSpike(elapsedMs, value)) return { quality: "bad", why: "spike" };
    if (this.#isStuck(value)) {
      // What comes when it moves again is new, however far away.
      this.#forget();
      return { quality: "bad", why: "stuck" };
    }
    this.#believed = value;
    return this.#isFast(atMs, value) ? { quality: "doubtful", why: "fast change" } : undefined;
  }

  #forget(): void {
    this.#believed = null;
    this.#minuteAgo = null;
    this.#level = null;
  }

  #isSpike(elapsedMs: number, value: number): boolean {
    if (this.#believed === null || Math.abs(value - this.#believed) <= this.#jump + this.#perMs * elapsedMs) {
      this.#level = null;
      return false;
    }
    const lowest = Math.min(value, this.#level?.lowest ?? value);
    const highest = Math.max(value, this.#level?.highest ?? value);
    this.#level =
      this.#level !== null && highest - lowest <= this.#jump
        ? { lowest, highest, count: this.#level.count + 1 }
        : { lowest: value, highest: value, count: 1 };
    if (this.#level.count < agreeing) return true;
    this.#forget();
    return false;
  }

  #isStuck(value: number): boolean {
    const usualMinutes = this.#unchangedMinutes(value);
    if (this.#stuckMinutes === "off" || usualMinutes === Number.POSITIVE_INFINITY) return false;
    return this.#unchangedMs >= (this.#stuckMinutes ?? usualMinutes) * minuteMs;
  }

  /** Over a minute at the least: what a sensor's noise and last digit do within seconds is no rate. */
  #isFast(atMs: number, value: number): boolean {
    const from = this.#minuteAgo;
    const sinceMs = from === null ? 0 : atMs - from.atMs;
    if (from === null || sinceMs >= minuteMs) this.#minuteAgo = { atMs, value };
    return from !== null && Math.abs(value - from.value) > this.#perMs * Math.max(sinceMs, minuteMs);
  }
}
