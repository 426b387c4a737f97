/**
 * What keeps each rule from chattering: how long its fact must hold before it is said, how long it must be gone before it is
 * taken back, and how far inside its limit a fact that is said still holds. All assumed.
 */
import type { Rule } from "./condition.ts";

interface Steadiness {
  onMs: number;
  offMs: number;
  /** The deadband, in the unit of what the rule measures. */
  bandK?: number;
  bandPercent?: number;
  bandMs?: number;
  /** Of its own limit. */
  bandShare?: number;
}

const secondMs = 1_000;
const minuteMs = 60 * secondMs;

export const steadiness = {
  // A door ajar is no warning.
  cold: { onMs: minuteMs, offMs: 2 * minuteMs, bandK: 0.5 },
  heat: { onMs: minuteMs, offMs: 2 * minuteMs, bandK: 0.5 },
  humidity: { onMs: minuteMs, offMs: 2 * minuteMs, bandPercent: 2 },
  "dew-point-margin": { onMs: 15 * secondMs, offMs: minuteMs, bandK: 0.5 },
  "dew-point-ahead": { onMs: minuteMs, offMs: 10 * minuteMs, bandK: 0.5 },
  condensation: { onMs: 15 * secondMs, offMs: minuteMs, bandK: 0.5 },
  "window-closing": { onMs: 0, offMs: minuteMs, bandMs: 2 * minuteMs },
  "window-missed": { onMs: 0, offMs: minuteMs, bandMs: 2 * minuteMs },
  "pot-life": { onMs: 0, offMs: minuteMs, bandMs: 2 * minuteMs },
  // A passing cloud is no reason to give a coat up for today.
  "not-today": { onMs: minuteMs, offMs: 2 * minuteMs, bandMs: 5 * minuteMs },
  promise: { onMs: 2 * minuteMs, offMs: 5 * minuteMs, bandMs: 5 * minuteMs },
  slipped: { onMs: 2 * minuteMs, offMs: 5 * minuteMs, bandShare: 0.5 },
  "moved-wet": { onMs: 0, offMs: 2 * minuteMs },
  // One word of a sensor that comes and goes does not make it a sound one.
  "silent-sensor": { onMs: 0, offMs: 5 * minuteMs },
  // One reading out of line wants no hand.
  "bad-sensor": { onMs: 15 * secondMs, offMs: 5 * minuteMs },
  "sensors-disagree": { onMs: minuteMs, offMs: 10 * minuteMs },
  "calibration-due": { onMs: 0, offMs: minuteMs },
  clock: { onMs: 15 * secondMs, offMs: 5 * minuteMs },
  outbox: { onMs: 15 * secondMs, offMs: 5 * minuteMs },
  store: { onMs: 5 * secondMs, offMs: 5 * minuteMs },
  "store-away": { onMs: 15_000, offMs: 5 * minuteMs },
  records: { onMs: 0, offMs: 5 * minuteMs },
} as const satisfies Record<Rule, Steadiness>;

/** Back within this, a fact is still the one that was answered: whoever did something about it need not hear of it anew. */
export const answeredOffMs = 5 * minuteMs;
