/** May I spray here now: one answer for a place, judged by the limits of the sheets in hand there. */
import { type Text, text } from "../../words/text.ts";
import {
  decisive,
  type LimitFinding,
  limitFindings,
  type SprayAir,
  type SprayState,
  sprayState,
} from "../cure/limits.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { Records } from "../records/records.ts";
import type { PlaceSettings, ShopFile } from "../shop-file.ts";
import type { CoatState } from "./coat-state.ts";
import { currentAir } from "./current-air.ts";
import type { Follow } from "./follow.ts";

export interface SprayVerdict {
  state: SprayState;
  reason: Text;
  /** Names of the sheets it was judged by. */
  sheets: string[];
}

/** Sheets sprayed in a place by the shop file, and those of the coats that stand there. */
export function sheetsInHand(place: PlaceSettings | undefined, coats: readonly CoatState[], records: Records): Sheet[] {
  const named = place?.sheets ?? [];
  const sheets = new Map(coats.map((state) => [state.sheet.id, state.sheet]));
  for (const sheet of records.sheets()) if (named.includes(sheet.id)) sheets.set(sheet.id, sheet);
  return [...sheets.values()];
}

export interface VerdictParts {
  shopFile: ShopFile;
  follow: Follow;
  records: Records;
  now: () => number;
}

/**
 * Judges a place by what is current there; where air temperature or humidity is not, there is no verdict. Coats that only
 * cure in a workshop or a yard make it no place to spray.
 */
export function sprayVerdict({ shopFile, follow, records, now }: VerdictParts, placeId: string): SprayVerdict {
  const air = currentAir(follow, placeId, now());
  const place = shopFile.places[placeId];
  const isSprayed = place?.kind === "booth" || place?.kind === "prep";
  return verdictOf(air, sheetsInHand(place, isSprayed ? follow.coatsAt(placeId) : [], records));
}

/** The verdict by itself: pure. Outside any sheet's limit says 'do not spray' when no sheet is left, else 'with care'. */
export function verdictOf(air: SprayAir, sheets: readonly Sheet[]): SprayVerdict {
  const names = sheets.map((sheet) => sheet.name);
  if (air.airC === null || air.rhPercent === null) {
    return { state: "no verdict", reason: unmeasured(air), sheets: names };
  }
  if (sheets.length === 0) return { state: "no verdict", reason: text("verdict.no-sheets"), sheets: [] };
  const judged = sheets.map((sheet) => {
    const found = limitFindings(sheet.limits ?? {}, air);
    return { sheet, state: sprayState(found), worst: decisive(found) };
  });
  // Named is what is least far off: the first sheet that could be sprayed again.
  const outside = judged
    .flatMap(({ sheet, state, worst }) => (state === "do not spray" && worst !== null ? [{ sheet, worst }] : []))
    .sort((a, b) => (b.worst.margin ?? 0) - (a.worst.margin ?? 0));
  const first = outside[0];
  if (first !== undefined) {
    const reason = limitText(first.worst);
    if (first.worst.what === "dew-point margin" || outside.length === sheets.length) {
      return { state: "do not spray", reason: text("verdict.outside", { reason }), sheets: names };
    }
    const values = { sheet: first.sheet.name, others: outside.length - 1, reason };
    return { state: "spray with care", reason: text("verdict.not-these", values), sheets: names };
  }
  const close = judged.find(({ worst }) => worst !== null)?.worst;
  if (close != null) {
    return { state: "spray with care", reason: text("verdict.close", { reason: limitText(close) }), sheets: names };
  }
  return { state: "spray", reason: text("verdict.all-inside"), sheets: names };
}

/** Which of the two that a verdict needs is missing. */
function unmeasured({ airC }: Pick<SprayAir, "airC">): Text {
  return text(airC === null ? "verdict.no-air" : "verdict.no-humidity");
}

/** "humidity 82 %, at most 75 %": a limit that is outside or close, by its nearer bound. */
export function limitText({ what, value, min, max, margin }: LimitFinding): Text {
  const figure = (number: number) =>
    what === "humidity"
      ? text("figure.percent", { percent: number })
      : what === "dew-point margin"
        ? { kelvin: number }
        : { celsius: number };
  const isBelow = min !== null && (max === null || value === null || value - min === margin || Number.isNaN(value));
  const bound = (isBelow ? min : max) ?? 0;
  const quantity = text(quantityKeys[what]);
  return text(isBelow ? "verdict.at-least" : "verdict.at-most", {
    what: quantity,
    value: figure(value ?? Number.NaN),
    bound: figure(bound),
  });
}

const quantityKeys = {
  "air temperature": "quantity.air-temperature",
  "panel temperature": "quantity.panel-temperature",
  humidity: "quantity.humidity",
  "dew-point margin": "quantity.dew-point-margin",
} as const;
