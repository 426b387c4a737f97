/** What came of the coats of a shop and how its predictions held, in a few figures, to stand beside other shops': pure. */
import type { PlacedCheck } from "../records/records.ts";
import { bracketsOf } from "./brackets.ts";
import { calibrationOf, type ShareFound } from "./calibration.ts";
import { type Agreement, agreementsOf } from "./predictions.ts";
import { type FiguredCoat, type SpanFigures, spanFigures } from "./span-figures.ts";

/** Of one span: the coats that count and were finished in it, and the checks of these, in order of time. */
export interface ShopSpan {
  coats: readonly FiguredCoat[];
  checks: readonly PlacedCheck[];
}

export interface ShopSummary {
  span: SpanFigures;
  /** Of all sheets and places together. */
  agreement: Agreement;
  atSafe: ShareFound;
}

export function summaryOf({ coats, checks }: ShopSpan): ShopSummary {
  return {
    span: spanFigures(coats).all,
    agreement: agreementsOf(bracketsOf(checks))[0] as Agreement,
    atSafe: calibrationOf(checks).atSafe,
  };
}

/** All shops as if they were one: not the mean of their figures. Ids of coats are unique within a shop only, so each gets its shop's before it. */
export function together(spans: ReadonlyMap<string, ShopSpan>): ShopSpan {
  const named = <T extends { coatId: string }>(shop: string, each: T): T => ({
    ...each,
    coatId: `${shop}/${each.coatId}`,
  });
  const all = [...spans];
  return {
    coats: all.flatMap(([shop, { coats }]) => coats.map((coat) => named(shop, coat))),
    checks: all
      .flatMap(([shop, { checks }]) => checks.map((check) => named(shop, check)))
      .sort((a, b) => a.atMs - b.atMs),
  };
}
