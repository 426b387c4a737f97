/** May I spray here now: one answer for a place, judged by the limits of the sheets in hand there. */
import { checkLimits, type LimitFinding, type SprayAir } from "../cure/limits.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { Records } from "../records/records.ts";
import type { PlaceSettings, ShopFile } from "../shop-file.ts";
import type { Words } from "../words.ts";
import type { CoatState } from "./coat-state.ts";
import { currentAir } from "./current-air.ts";
import type { Follow } from "./follow.ts";

export interface SprayVerdict {
  state: "spray" | "spray with care" | "do not spray" | "no verdict";
  reason: string;
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
  words: Words;
}

/**
 * Judges a place by what is current there; where air temperature or humidity is not, there is no verdict. Coats that only
 * cure in a workshop or a yard make it no place to spray.
 */
export function sprayVerdict({ shopFile, follow, records, now, words }: VerdictParts, placeId: string): SprayVerdict {
  const air = currentAir(follow, placeId, now());
  const place = shopFile.places[placeId];
  const isSprayed = place?.kind === "booth" || place?.kind === "prep";
  return verdictOf(air, sheetsInHand(place, isSprayed ? follow.coatsAt(placeId) : [], records), words);
}

/** The verdict by itself: pure. Outside any sheet's limit says 'do not spray' when no sheet is left, else 'with care'. */
export function verdictOf(air: SprayAir, sheets: readonly Sheet[], words: Words): SprayVerdict {
  const names = sheets.map((sheet) => sheet.name);
  if (air.airC === null || air.rhPercent === null) {
    const missing = air.airC === null ? "air temperature" : "humidity";
    return {
      state: "no verdict",
      reason: `No current reading of the ${missing}. Use the wall instruments and the sheet.`,
      sheets: names,
    };
  }
  if (sheets.length === 0) {
    return { state: "no verdict", reason: "The shop file names nothing that is sprayed here.", sheets: [] };
  }
  const findings = sheets.map((sheet) => ({ sheet, found: checkLimits(sheet.limits ?? {}, air) }));
  // Named is what is least far off: the first sheet that could be sprayed again.
  const outside = findings
    .flatMap(({ sheet, found }) => {
      const worst = found.find((finding) => finding.state === "outside");
      return worst === undefined ? [] : [{ sheet, worst, offBy: Math.abs(worst.value - worst.bound) }];
    })
    .sort((a, b) => a.offBy - b.offBy);
  const first = outside[0];
  if (first !== undefined) {
    const isWholePlace = first.worst.what === "dew-point margin" || outside.length === sheets.length;
    const others = outside.length > 1 && !isWholePlace ? ` and ${outside.length - 1} more` : "";
    return {
      state: isWholePlace ? "do not spray" : "spray with care",
      reason: isWholePlace
        ? `${capital(sentence(first.worst, words))}.`
        : `Not ${first.sheet.name}${others}: ${sentence(first.worst, words)}.`,
      sheets: names,
    };
  }
  const close = findings.flatMap(({ found }) => found)[0];
  if (close !== undefined)
    return { state: "spray with care", reason: `Close to the limit: ${sentence(close, words)}.`, sheets: names };
  return {
    state: "spray",
    reason: "Air, panel and dew point are inside the limits of the sheets in hand.",
    sheets: names,
  };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function sentence({ what, side, value, bound }: LimitFinding, words: Words): string {
  const figure =
    what === "humidity"
      ? (number: number) => `${Math.round(number)} %`
      : what === "dew-point margin"
        ? words.difference
        : words.temperature;
  return `${what} ${figure(value)}, ${side === "below" ? "at least" : "at most"} ${figure(bound)}`;
}
