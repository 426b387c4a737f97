/** The life of a warning: it begins when its condition has held for a while, and ends when it has not held for a while. Pure. */
import { createHash } from "node:crypto";
import type { Condition, Rule } from "./condition.ts";

/** How long a condition must hold before it is said, and must not hold before it is taken back (assumed; a door ajar is no warning). */
const delaysMs: Record<Rule, { on: number; off: number }> = {
  cold: { on: 60_000, off: 120_000 },
  heat: { on: 60_000, off: 120_000 },
  humidity: { on: 60_000, off: 120_000 },
  "dew-point-margin": { on: 15_000, off: 60_000 },
  "dew-point-ahead": { on: 60_000, off: 600_000 },
  condensation: { on: 15_000, off: 60_000 },
  "window-closing": { on: 0, off: 0 },
  "window-missed": { on: 0, off: 0 },
  "pot-life": { on: 0, off: 0 },
  // A passing cloud is no reason to give a coat up for today.
  "not-today": { on: 60_000, off: 120_000 },
  promise: { on: 120_000, off: 300_000 },
  slipped: { on: 120_000, off: 300_000 },
  "moved-wet": { on: 0, off: 0 },
  "silent-sensor": { on: 0, off: 0 },
  // One reading out of line wants no hand.
  "bad-sensor": { on: 15_000, off: 60_000 },
  "sensors-disagree": { on: 60_000, off: 600_000 },
  "calibration-due": { on: 0, off: 0 },
  clock: { on: 15_000, off: 0 },
  outbox: { on: 15_000, off: 0 },
  store: { on: 5_000, off: 0 },
  records: { on: 0, off: 0 },
};

export interface Tracked {
  condition: Condition;
  /** Since when it has held without a break longer than the delay. */
  holdsSinceMs: number;
  lastHeldMs: number;
  activeSinceMs: number | null;
}

export interface Step {
  /** Keys of warnings that begin and end with this step. */
  begun: string[];
  ended: string[];
  /** What one says has changed. */
  isChanged: boolean;
}

/** Moves the tracked conditions on. `isKnown` tells of those that were said before a restart: they begin at once. */
export function stepWarnings(
  tracked: Map<string, Tracked>,
  conditions: readonly Condition[],
  nowMs: number,
  isKnown: (key: string) => boolean = () => false,
): Step {
  const step: Step = { begun: [], ended: [], isChanged: false };
  for (const condition of conditions) {
    const { key, rule } = condition;
    const now = tracked.get(key) ?? { condition, holdsSinceMs: nowMs, lastHeldMs: nowMs, activeSinceMs: null };
    if (now.activeSinceMs !== null && JSON.stringify(now.condition) !== JSON.stringify(condition))
      step.isChanged = true;
    now.condition = condition;
    now.lastHeldMs = nowMs;
    if (now.activeSinceMs === null && (nowMs - now.holdsSinceMs >= delaysMs[rule].on || isKnown(key))) {
      now.activeSinceMs = nowMs;
      step.begun.push(key);
    }
    tracked.set(key, now);
  }
  const held = new Set(conditions.map(({ key }) => key));
  for (const [key, known] of tracked) {
    if (held.has(key)) continue;
    // One that was not said yet starts anew; one that was said lingers for its delay.
    if (known.activeSinceMs !== null && nowMs - known.lastHeldMs < delaysMs[known.condition.rule].off) continue;
    tracked.delete(key);
    if (known.activeSinceMs !== null) step.ended.push(key);
  }
  return step;
}

/** What all occurrences of one condition in one place have in common. */
export function familyOf(place: string, key: string): string {
  return createHash("sha256").update(`${place}/${key}`).digest("hex").slice(0, 16);
}

/** Names one occurrence: the same condition, come back later, is another. */
export function occurrenceId(place: string, key: string, sinceMs: number): string {
  return `${familyOf(place, key)}-${sinceMs.toString(36)}`;
}
