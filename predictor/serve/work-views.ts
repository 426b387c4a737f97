/** The work at hand in the words of the API: spray checks and amounts. */
import { type Text, text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import type { SprayCheck } from "../cure/spray-check.ts";
import type { SprayOutlook } from "../follow/spray-checks.ts";
import type { MixAmounts } from "../mixing/mix-quantity.ts";
import type { SprayCheckView } from "./api.ts";
import type { MixQuantity, SprayOutlook as SprayOutlookView } from "./work-api.ts";

const iso = (ms: number): string => new Date(ms).toISOString();

/** Said where one sprays, beside the sheet's own cautions. */
const sprayCautions: readonly Text[] = [
  text("caution.spray-air-fed"),
  text("caution.spray-extraction"),
  text("caution.no-electronics"),
  text("caution.sensitised"),
  text("caution.sanding-dust"),
];

export function sprayCheckView({ atMs, place, sheetId, state, limits }: SprayCheck): SprayCheckView {
  return {
    at: iso(atMs),
    place,
    sheet: sheetId,
    state,
    limits: limits.map(({ readingAtMs, ...limit }) => ({
      ...limit,
      readingAt: readingAtMs === null ? null : iso(readingAtMs),
    })),
  };
}

export function sprayOutlookView(
  outlook: SprayOutlook,
  of: Pick<SprayOutlookView, "shop" | "place" | "clearanceMinutes"> & { sheetCautions: readonly string[] },
  words: Words,
): SprayOutlookView {
  const { sheetCautions, ...where } = of;
  return {
    ...where,
    now: sprayCheckView(outlook.now),
    reason: words.say(outlook.reason),
    ahead: outlook.ahead.map(({ atMs, state, worst }) => ({
      at: iso(atMs),
      state,
      worst: worst === null ? "" : words.say(worst),
    })),
    cautions: [...sheetCautions, ...sprayCautions.map(words.say)],
  };
}

export function mixQuantityView({ assumptions, ...amounts }: MixAmounts, words: Words): MixQuantity {
  return { ...amounts, assumptions: assumptions.map(words.say) };
}
