/** When to warn, in what words, and what to do about it: pure. Every warning wants a hand; what wants none is not one. */
import { leastDewMarginC } from "../cure/limits.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { WindowState } from "../cure/windows.ts";
import type { LateToday } from "../follow/late-today.ts";
import { stageWord, type Words } from "../words.ts";
import type { Condition, Rule } from "./condition.ts";
import { type Equipment, equipmentConditions } from "./equipment.ts";

/** What is known of a place at an instant; only values that are current. */
export interface Situation {
  nowMs: number;
  airC: number | null;
  rhPercent: number | null;
  panelC: number | null;
  dewPointC: number | null;
  equipment: Equipment;
  /** Sheets that are sprayed or cure here. */
  sheets: readonly Sheet[];
  coats: readonly { id: string; name: string; windows: readonly WindowState[]; late: LateToday | null }[];
  /** Pots whose paint is sprayed here, or that stand here. */
  pots: readonly PotNow[];
}

export interface PotNow {
  id: string;
  /** The material's kind and when it was mixed tell one pot from another. */
  kind: string;
  mixedAtMs: number;
  useByAtMs: number | null;
  state: "good" | "closing" | "over" | "unknown";
}

/** A warning ends only this far inside the limit, so that it does not chatter (deadband; the widths are assumed). */
const deadband = { temperatureC: 0.5, rhPercent: 2 };
/** A missed window is said for this long; then it is history, and the coat's own page tells it. */
const missedSaidMs = 60 * 60_000;

/** The conditions that hold. `isActive` tells which are warned of already: those end past their deadband only. */
export function conditionsOf(situation: Situation, isActive: (key: string) => boolean, words: Words): Condition[] {
  return [
    ...climate(situation, isActive, words),
    ...situation.coats.flatMap((coat) => windows(coat, situation.nowMs, words)),
    ...situation.coats.flatMap((coat) => notToday(coat, situation.nowMs, words)),
    ...situation.pots.flatMap((pot) => potLife(pot, words)),
    ...equipmentConditions(situation.equipment, words),
  ];
}

function climate(situation: Situation, isActive: (key: string) => boolean, words: Words): Condition[] {
  const { airC, rhPercent, panelC, dewPointC, sheets } = situation;
  const found: Condition[] = [];
  const holds = (key: Rule, beyondBy: number, band: number) => beyondBy > (isActive(key) ? -band : 0);
  const add = (rule: Rule, urgency: "now" | "soon", text: string, action: string) =>
    found.push({ key: rule, rule, urgency, text, action, coatId: null });

  const coldest = strictest(sheets, (sheet) => sheet.limits?.airC?.min, Math.max);
  if (airC !== null && coldest !== null && holds("cold", coldest.bound - airC, deadband.temperatureC)) {
    add(
      "cold",
      "soon",
      `${words.temperature(airC)} air, ${coldest.sheet.name} wants ${words.temperature(coldest.bound)} at least`,
      "Heat the place or move the car; until then coats take longer than their sheets say.",
    );
  }
  const hottest = strictest(sheets, (sheet) => sheet.limits?.airC?.max, Math.min);
  if (airC !== null && hottest !== null && holds("heat", airC - hottest.bound, deadband.temperatureC)) {
    add(
      "heat",
      "soon",
      `${words.temperature(airC)} air, ${hottest.sheet.name} allows ${words.temperature(hottest.bound)} at most`,
      "Cool the place before spraying; windows and pot life are shorter now.",
    );
  }
  const dampest = strictest(sheets, (sheet) => sheet.limits?.rhPercent?.max, Math.min);
  if (rhPercent !== null && dampest !== null && holds("humidity", rhPercent - dampest.bound, deadband.rhPercent)) {
    add(
      "humidity",
      "soon",
      `${Math.round(rhPercent)} % humidity, ${dampest.sheet.name} allows ${dampest.bound} % at most`,
      "Do not spray it now. Shut doors, warm the air, and wait until it is drier.",
    );
  }
  const surfaceC = panelC ?? airC;
  if (surfaceC !== null && dewPointC !== null && sheets.length > 0) {
    const margin = surfaceC - dewPointC;
    if (holds("dew-point-margin", leastDewMarginC - margin, deadband.temperatureC)) {
      add(
        "dew-point-margin",
        "now",
        `Panels only ${words.difference(margin)} above the dew point, ${words.difference(leastDewMarginC)} is the least`,
        "Do not spray: moisture can settle on the panels. Warm them or dry the air.",
      );
    }
  }
  return found;
}

/** The sheet whose bound is met first; null when no sheet gives one. */
function strictest(
  sheets: readonly Sheet[],
  boundOf: (sheet: Sheet) => number | undefined,
  choose: (a: number, b: number) => number,
): { sheet: Sheet; bound: number } | null {
  let found: { sheet: Sheet; bound: number } | null = null;
  for (const sheet of sheets) {
    const bound = boundOf(sheet);
    if (bound === undefined) continue;
    if (found === null || (bound !== found.bound && choose(bound, found.bound) === bound)) found = { sheet, bound };
  }
  return found;
}

function windows(coat: Situation["coats"][number], nowMs: number, words: Words): Condition[] {
  return coat.windows.flatMap((window): Condition[] => {
    if (window.closesAtMs === null) return [];
    const base = { key: `window-closing/${coat.id}/${window.for}`, rule: "window-closing" as const, coatId: coat.id };
    if (window.state === "closing") {
      const text = `${coat.name}: ${window.for} by ${words.time(window.closesAtMs)}`;
      return [{ ...base, urgency: "now", text, action: `After that: ${window.ifMissed}.` }];
    }
    if (window.state === "missed" && nowMs - window.closesAtMs <= missedSaidMs) {
      const text = `${coat.name}: too late to ${window.for}, it closed at ${words.time(window.closesAtMs)}`;
      return [{ ...base, urgency: "soon", text, action: `Now ${window.ifMissed}.` }];
    }
    return [];
  });
}

function notToday({ id, name, late }: Situation["coats"][number], nowMs: number, words: Words): Condition[] {
  if (late?.state !== "not today") return [];
  const { stage, workEndsAtMs } = late;
  const then = stage.likelyAtMs === null ? "never, as things stand" : words.when(stage.likelyAtMs, nowMs);
  const text = `${name}: ${stageWord(stage.stage)} not before work ends at ${words.time(workEndsAtMs)}; likely ${then}`;
  const action = "If it is needed today: ask on the car list what a warmer place or a bake would do.";
  return [{ key: `not-today/${id}`, rule: "not-today", urgency: "soon", text, action, coatId: id }];
}

function potLife({ id, kind, mixedAtMs, useByAtMs, state }: PotNow, words: Words): Condition[] {
  if (useByAtMs === null || (state !== "closing" && state !== "over")) return [];
  const pot = `${kind} mixed ${words.time(mixedAtMs)}`;
  const base = { key: `pot-life/${id}`, rule: "pot-life" as const, coatId: null };
  if (state === "closing") {
    const text = `${pot}: pot life may end at ${words.time(useByAtMs)}`;
    return [{ ...base, urgency: "now", text, action: "Spray it by then, or mix anew; do not thin it to stretch it." }];
  }
  const text = `${pot}: pot life may be over since ${words.time(useByAtMs)}`;
  return [{ ...base, urgency: "soon", text, action: "Do not spray it. Mix anew, and clean the gun before it sets." }];
}
