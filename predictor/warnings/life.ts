/** The life of a warning: it begins when its condition has held for a while, and ends when it has not held for a while. Pure. */
import { createHash } from "node:crypto";
import type { Standing } from "./condition.ts";
import { answeredOffMs, steadiness } from "./steadiness.ts";

export interface Tracked {
  condition: Standing;
  /** Since when it has held without a break longer than the delay. */
  holdsSinceMs: number;
  lastHeldMs: number;
  activeSinceMs: number | null;
}

/** What is known beside the conditions. */
export interface Known {
  /** It was said before a restart: it begins at once. */
  isSaid(key: string): boolean;
  isAnswered(key: string): boolean;
  /** The coat or pot is still there. */
  isThere(subject: string): boolean;
}

export interface Step {
  /** Warnings that begin and end with this step. */
  begun: Standing[];
  ended: Standing[];
  /** Where something has begun, ended, moved or says something else. */
  places: Set<string>;
}

export const placesOf = ({ place, alsoAt }: Standing): string[] => [place, ...alsoAt];

/** Moves the tracked conditions on. */
export function stepWarnings(
  tracked: Map<string, Tracked>,
  conditions: readonly Standing[],
  nowMs: number,
  known: Known,
): Step {
  const begun: Standing[] = [];
  const ended: Standing[] = [];
  const changed: Standing[] = [];
  for (const condition of conditions) {
    const { key, rule } = condition;
    const now = tracked.get(key) ?? { condition, holdsSinceMs: nowMs, lastHeldMs: nowMs, activeSinceMs: null };
    if (now.activeSinceMs !== null && JSON.stringify(now.condition) !== JSON.stringify(condition))
      changed.push(now.condition, condition);
    now.condition = condition;
    now.lastHeldMs = nowMs;
    if (now.activeSinceMs === null && (nowMs - now.holdsSinceMs >= steadiness[rule].onMs || known.isSaid(key))) {
      now.activeSinceMs = nowMs;
      begun.push(condition);
    }
    tracked.set(key, now);
  }
  const held = new Set(conditions.map(({ key }) => key));
  const replaced = new Set(conditions.map(({ replaces }) => replaces));
  for (const [key, { condition, activeSinceMs, lastHeldMs }] of tracked) {
    if (held.has(key)) continue;
    const { rule, subject } = condition;
    const isMoot = replaced.has(key) || (subject !== null && !known.isThere(subject));
    const offMs = known.isAnswered(key) ? Math.max(answeredOffMs, steadiness[rule].offMs) : steadiness[rule].offMs;
    // One that was not said yet starts anew; one that was said lingers for its delay.
    if (activeSinceMs !== null && !isMoot && nowMs - lastHeldMs < offMs) continue;
    tracked.delete(key);
    if (activeSinceMs !== null) ended.push(condition);
  }
  return { begun, ended, places: new Set([...begun, ...ended, ...changed].flatMap(placesOf)) };
}

/** What all occurrences of one fact have in common. */
export function familyOf(key: string): string {
  return createHash("sha256").update(key).digest("hex").slice(0, 16);
}

/** Names one occurrence: the same fact, come back later, is another. */
export function occurrenceId(key: string, sinceMs: number): string {
  return `${familyOf(key)}-${sinceMs.toString(36)}`;
}
