/** When to warn, in what words, and what to do about it: pure. Every warning wants a hand; what wants none is not one. */
import { type Text, text } from "../../words/text.ts";
import { leastDewMarginC } from "../cure/limits.ts";
import type { Sheet } from "../cure/sheet.ts";
import { type CoatNow, coatConditions, type PotNow, potConditions } from "./coat-rules.ts";
import { type Condition, type IsActive, ofPlace, type Rule, type Urgency } from "./condition.ts";
import { type Equipment, equipmentConditions } from "./equipment.ts";
import { steadiness } from "./steadiness.ts";

/** What is known of a place at an instant; only values that are current. */
export interface Situation {
  nowMs: number;
  airC: number | null;
  rhPercent: number | null;
  panelC: number | null;
  dewPointC: number | null;
  /** The air temperature to be expected; empty where it is not known. */
  hours: readonly { atMs: number; airC: number }[];
  equipment: Equipment;
  /** Sheets that are sprayed or cure here. */
  sheets: readonly Sheet[];
  coats: readonly CoatNow[];
  /** Pots whose paint is sprayed here, or that stand here. */
  pots: readonly PotNow[];
}

/** The conditions that hold. */
export function conditionsOf(situation: Situation, isActive: IsActive): Condition[] {
  return [
    ...climate(situation, isActive),
    ...dewAhead(situation, isActive),
    ...situation.coats.flatMap((coat) => coatConditions(coat, situation.nowMs, isActive)),
    ...situation.pots.flatMap((pot) => potConditions(pot, situation.nowMs, isActive)),
    ...equipmentConditions(situation.equipment),
  ];
}

function climate(situation: Situation, isActive: IsActive): Condition[] {
  const { airC, rhPercent, panelC, dewPointC, sheets, coats } = situation;
  const found: Condition[] = [];
  const holds = (key: Rule, beyondBy: number, band: number) => beyondBy > (isActive(key) ? -band : 0);
  const add = (rule: Rule & keyof typeof follows, urgency: Urgency, said: Text) =>
    found.push({ key: rule, rule, urgency, text: said, ...follows[rule], ...ofPlace });

  const coldest = strictest(sheets, (sheet) => sheet.limits?.airC?.min, Math.max);
  if (airC !== null && coldest !== null && holds("cold", coldest.bound - airC, steadiness.cold.bandK)) {
    add("cold", "soon", text("warn.cold", { air: { celsius: airC }, ...limit(coldest) }));
  }
  const hottest = strictest(sheets, (sheet) => sheet.limits?.airC?.max, Math.min);
  if (airC !== null && hottest !== null && holds("heat", airC - hottest.bound, steadiness.heat.bandK)) {
    add("heat", "soon", text("warn.heat", { air: { celsius: airC }, ...limit(hottest) }));
  }
  const dampest = strictest(sheets, (sheet) => sheet.limits?.rhPercent?.max, Math.min);
  if (
    rhPercent !== null &&
    dampest !== null &&
    holds("humidity", rhPercent - dampest.bound, steadiness.humidity.bandPercent)
  ) {
    const values = { humidity: rhPercent, sheet: dampest.sheet.name, bound: dampest.bound };
    add("humidity", "soon", text("warn.humidity", values));
  }
  const surfaceC = panelC ?? airC;
  if (surfaceC === null || dewPointC === null || sheets.length === 0) return found;
  const margin = surfaceC - dewPointC;
  const isFresh = coats.some(({ isWet }) => isWet);
  if (isFresh && holds("condensation", -margin, steadiness.condensation.bandK)) {
    add(
      "condensation",
      "now",
      text("warn.condensation", { panel: { celsius: surfaceC }, dew: { celsius: dewPointC } }),
    );
  } else if (holds("dew-point-margin", leastDewMarginC - margin, steadiness["dew-point-margin"].bandK)) {
    const values = { margin: { kelvin: margin }, least: { kelvin: leastDewMarginC } };
    add("dew-point-margin", "now", text("warn.dew-point-margin", values));
  }
  return found;
}

/** The margin over the dew point as it will be while a coat here is still wet: the panel as warm as the air, the water in the air as it is. */
function dewAhead({ airC, panelC, dewPointC, hours, coats, nowMs }: Situation, isActive: IsActive) {
  const surfaceC = panelC ?? airC;
  if (surfaceC === null || dewPointC === null || surfaceC - dewPointC < leastDewMarginC) return [];
  const leastC = leastDewMarginC + (isActive("dew-point-ahead") ? steadiness["dew-point-ahead"].bandK : 0);
  const wetUntilMs = Math.max(0, ...coats.map((coat) => (coat.isWet ? (coat.wetUntilMs ?? nowMs) : 0)));
  const first = hours.find((hour) => hour.atMs <= wetUntilMs && hour.airC - dewPointC < leastC);
  if (first === undefined) return [];
  const condition: Condition = {
    key: "dew-point-ahead",
    rule: "dew-point-ahead",
    urgency: "soon",
    text: text("warn.dew-point-ahead", { time: { timeMs: first.atMs, nowMs }, least: { kelvin: leastDewMarginC } }),
    ...follows["dew-point-ahead"],
    ...ofPlace,
    untilMs: first.atMs,
  };
  return [condition];
}

const follow = (consequence: Text, action: Text) => ({ consequence, action });
const follows = {
  cold: follow(text("warn.cold.else"), text("warn.cold.do")),
  heat: follow(text("warn.heat.else"), text("warn.heat.do")),
  humidity: follow(text("warn.humidity.else"), text("warn.humidity.do")),
  "dew-point-margin": follow(text("warn.dew-point-margin.else"), text("warn.dew-point-margin.do")),
  "dew-point-ahead": follow(text("warn.dew-point-ahead.else"), text("warn.dew-point-ahead.do")),
  condensation: follow(text("warn.condensation.else"), text("warn.condensation.do")),
};

function limit({ sheet, bound }: Strictest) {
  return { sheet: sheet.name, bound: { celsius: bound } };
}

interface Strictest {
  sheet: Sheet;
  bound: number;
}

/** The sheet whose bound is met first; null when no sheet gives one. */
function strictest(
  sheets: readonly Sheet[],
  boundOf: (sheet: Sheet) => number | undefined,
  choose: (a: number, b: number) => number,
): Strictest | null {
  let found: Strictest | null = null;
  for (const sheet of sheets) {
    const bound = boundOf(sheet);
    if (bound === undefined) continue;
    if (found === null || (bound !== found.bound && choose(bound, found.bound) === bound)) found = { sheet, bound };
  }
  return found;
}
