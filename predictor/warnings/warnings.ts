/** The life of a warning: it begins when its condition has held for a while, and ends when it has not held for a while. */
import { sheetWindows } from "../cure/windows.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { currentAir } from "../follow/current-air.ts";
import type { Follow } from "../follow/follow.ts";
import { lateToday } from "../follow/late-today.ts";
import type { Pots } from "../follow/pots.ts";
import { sheetsInHand } from "../follow/verdict.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { Words } from "../words.ts";
import type { Condition, Rule } from "./condition.ts";
import type { EquipmentWatch } from "./equipment-watch.ts";
import { conditionsOf, type Situation } from "./rules.ts";

export interface Warning {
  id: string;
  rule: Rule;
  place: string;
  urgency: "now" | "soon";
  text: string;
  action: string;
  sinceMs: number;
  coatId: string | null;
}

export interface WarningParts {
  shopFile: ShopFile;
  follow: Follow;
  records: Records;
  pots: Pick<Pots, "at">;
  equipment: Pick<EquipmentWatch, "at">;
  shopTime: ShopTime;
  now: () => number;
  words: Words;
}

/** Seconds a condition must hold before it is said, and must not hold before it is taken back (assumed; a door ajar is no warning). */
const delaysMs: Record<Rule, { on: number; off: number }> = {
  cold: { on: 15_000, off: 30_000 },
  heat: { on: 15_000, off: 30_000 },
  humidity: { on: 15_000, off: 30_000 },
  "dew-point-margin": { on: 15_000, off: 30_000 },
  "window-closing": { on: 0, off: 0 },
  "pot-life": { on: 0, off: 0 },
  // A passing cloud is no reason to give a coat up for today.
  "not-today": { on: 60_000, off: 120_000 },
  "silent-sensor": { on: 0, off: 0 },
  // One reading out of line wants no hand.
  "bad-sensor": { on: 15_000, off: 60_000 },
  "sensors-disagree": { on: 60_000, off: 600_000 },
  "calibration-due": { on: 0, off: 0 },
  clock: { on: 15_000, off: 0 },
  outbox: { on: 15_000, off: 0 },
  store: { on: 5_000, off: 0 },
};
const checkEveryMs = 2_000;

export interface Tracked {
  condition: Condition;
  /** Since when it has held without a break longer than the delay. */
  holdsSinceMs: number;
  lastHeldMs: number;
  activeSinceMs: number | null;
}

export class Warnings {
  readonly #parts: WarningParts;
  readonly #tracked = new Map<string, Map<string, Tracked>>();
  readonly #listeners = new Set<(place: string) => void>();
  #timer: NodeJS.Timeout | null = null;

  constructor(parts: WarningParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#timer = setInterval(() => this.check(), checkEveryMs);
    this.check();
  }

  stop(): void {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
  }

  /** Calls back with a place whose warnings have changed; the function returned ends it. */
  onChange(listener: (place: string) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** The warnings of a place, the most urgent and then the newest first. */
  at(place: string): Warning[] {
    const warnings: Warning[] = [];
    for (const [key, { condition, activeSinceMs }] of this.#tracked.get(place) ?? []) {
      if (activeSinceMs === null) continue;
      const { rule, urgency, text, action, coatId } = condition;
      warnings.push({ id: `${place}/${key}`, rule, place, urgency, text, action, sinceMs: activeSinceMs, coatId });
    }
    return warnings.sort((a, b) => Number(b.urgency === "now") - Number(a.urgency === "now") || b.sinceMs - a.sinceMs);
  }

  /** Looks at every place now; called by the timer. */
  check(): void {
    const nowMs = this.#parts.now();
    const { words } = this.#parts;
    const workEndsAtMs = this.#parts.shopTime.workEndsAtMs(nowMs);
    for (const place of Object.keys(this.#parts.shopFile.places)) {
      const tracked = this.#tracked.get(place) ?? new Map<string, Tracked>();
      this.#tracked.set(place, tracked);
      const isActive = (key: string) => tracked.get(key)?.activeSinceMs != null;
      const conditions = conditionsOf(this.#situation(place, nowMs, workEndsAtMs), isActive, words);
      if (stepWarnings(tracked, conditions, nowMs)) for (const listener of this.#listeners) listener(place);
    }
  }

  #situation(place: string, nowMs: number, workEndsAtMs: number | null): Situation {
    const { shopFile, follow, records, pots, equipment } = this.#parts;
    const coats = follow.coatsAt(place);
    return {
      nowMs,
      ...currentAir(follow, place, nowMs),
      equipment: equipment.at(place),
      sheets: sheetsInHand(shopFile.places[place], coats, records),
      coats: coats.map((state) => ({
        id: state.coat.id,
        name: coatName(state),
        windows:
          state.sheet.windows.length === 0
            ? []
            : sheetWindows(state.sheet, state.outcome, state.coat.finishedAtMs, nowMs),
        late: workEndsAtMs === null || state.isPending ? null : lateToday(state.outcome, nowMs, workEndsAtMs),
      })),
      pots: pots.at(place).map(({ mix, sheet, life, state }) => ({
        id: mix.id,
        kind: sheet.kind,
        mixedAtMs: mix.mixedAtMs,
        useByAtMs: life.useByAtMs,
        state,
      })),
    };
  }
}

function coatName({ car, coat, sheet }: CoatState): string {
  return `${car.name}, ${coat.panels.join(", ")} (${sheet.kind})`;
}

/** Moves the tracked conditions on; true when the set of warnings, or what one says, has changed. */
export function stepWarnings(tracked: Map<string, Tracked>, conditions: readonly Condition[], nowMs: number): boolean {
  let changed = false;
  for (const condition of conditions) {
    const known = tracked.get(condition.key);
    const now = known ?? { condition, holdsSinceMs: nowMs, lastHeldMs: nowMs, activeSinceMs: null };
    if (now.activeSinceMs !== null && now.condition.text !== condition.text) changed = true;
    now.condition = condition;
    now.lastHeldMs = nowMs;
    if (now.activeSinceMs === null && nowMs - now.holdsSinceMs >= delaysMs[condition.rule].on) {
      now.activeSinceMs = nowMs;
      changed = true;
    }
    tracked.set(condition.key, now);
  }
  const held = new Set(conditions.map((condition) => condition.key));
  for (const [key, known] of tracked) {
    if (held.has(key)) continue;
    // One that was not said yet starts anew; one that was said lingers for its delay.
    if (known.activeSinceMs !== null && nowMs - known.lastHeldMs < delaysMs[known.condition.rule].off) continue;
    tracked.delete(key);
    if (known.activeSinceMs !== null) changed = true;
  }
  return changed;
}
