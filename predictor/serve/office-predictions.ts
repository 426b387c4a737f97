/** How well the predictions of the shops hold, from what a head office holds of them: one shop as on its own page, or all side by side. */

import type { z } from "zod";
import type { Words } from "../../words/words.ts";
import { Lessons } from "../follow/lessons.ts";
import type { HeldShop, HeldShops } from "../head-office/shops.ts";
import type { BookRow } from "../proof/book-row.ts";
import { fewestChecks } from "../proof/calibration.ts";
import { type ShopSpan, type ShopSummary, summaryOf, together } from "../proof/compare-shops.ts";
import { fewestBrackets, predictionsOf } from "../proof/predictions.ts";
import type { FiguredCoat } from "../proof/span-figures.ts";
import type { Compared, Comparison, comparisonQuerySchema } from "./office-api.ts";
import { heldState, placesOf, shopName } from "./office-views.ts";
import type { PredictionsView, predictionQuerySchema } from "./prediction-api.ts";
import { spanAsked } from "./prediction-routes.ts";
import { predictionsView } from "./prediction-view.ts";
import { HttpProblem } from "./problem.ts";

export interface OfficePredictionParts {
  shops: HeldShops;
  now: () => number;
}

/** What a shop's checks teach is worked out once for as long: entries and readings that come meanwhile tell in the next. Assumed. */
const lessonsForMs = 5 * 60_000;

const iso = (ms: number): string => new Date(ms).toISOString();

export class OfficePredictions {
  readonly #parts: OfficePredictionParts;
  readonly #lessons = new Map<string, { lessons: Lessons; seq: number; atMs: number }>();

  constructor(parts: OfficePredictionParts) {
    this.#parts = parts;
  }

  /** As the shop's own page has it, but for what only the shop knows: energy, and whether its checks move its times. */
  async ofShop(shop: HeldShop, query: z.output<typeof predictionQuerySchema>, words: Words): Promise<PredictionsView> {
    const { book } = this.#parts.shops;
    const { records, readings: store } = shop;
    const span = spanAsked(query, this.#parts.now());
    const shopFile = placesOf(shop);
    refuseUnknown("place", query.place, Object.keys(shopFile.places));
    refuseUnknown(
      "sheet",
      query.sheet,
      records.sheets().map(({ id }) => id),
    );
    const lessons = this.#lessonsOf(shop);
    const predictions = await predictionsOf(
      {
        store,
        records,
        shopFile,
        follow: { lesson: (sheet) => lessons.learned(sheet) },
        figured: async (coats) => coats.flatMap(({ id }) => figured(book.row(shop.id, id))),
      },
      { ...span, sheetId: query.sheet, place: query.place },
    );
    return predictionsView(predictions, { shopFile, records, words, ...span });
  }

  async compared(query: z.output<typeof comparisonQuerySchema>): Promise<Comparison> {
    const { shops, now } = this.#parts;
    const nowMs = now();
    const { fromMs, toMs } = spanAsked(query, nowMs);
    const { sheets } = shops.book.choices();
    refuseUnknown(
      "sheet",
      query.sheet,
      sheets.map(({ id }) => id),
    );
    const spans = new Map<string, ShopSpan>();
    for (const { id, records } of shops.all()) {
      const coats: FiguredCoat[] = [];
      const asked = { shop: id, fromMs, toMs, sheet: query.sheet, sort: "finished", order: "up" } as const;
      for (const rows of shops.book.all(asked, nowMs)) {
        coats.push(...rows.filter(({ isWithdrawn }) => !isWithdrawn).flatMap(figured));
        // Years of many shops are gathered beside what comes in from them.
        await new Promise((resolve) => setImmediate(resolve));
      }
      const checks = records
        .checksOfCoatsFinished(fromMs, toMs)
        .filter(({ sheetId }) => query.sheet === undefined || sheetId === query.sheet);
      spans.set(id, { coats, checks });
    }
    return {
      from: iso(fromMs),
      to: iso(toMs),
      sheets,
      fewest: { brackets: fewestBrackets, checks: fewestChecks },
      shops: shops.all().map((shop) => ({
        shop: shopName(shop),
        state: heldState(shop, nowMs),
        ...comparedView(summaryOf(spans.get(shop.id) ?? { coats: [], checks: [] })),
      })),
      all: comparedView(summaryOf(together(spans))),
    };
  }

  #lessonsOf(shop: HeldShop): Lessons {
    const { id, records, readings: store } = shop;
    const nowMs = this.#parts.now();
    const { recordsSeq: seq } = shop.state();
    const known = this.#lessons.get(id);
    if (known !== undefined && known.seq === seq && nowMs - known.atMs <= lessonsForMs) return known.lessons;
    const learning = { off: [], earlierThanSheet: [] };
    const lessons = new Lessons({ store, records, places: placesOf(shop).places, learning });
    this.#lessons.set(id, { lessons, seq, atMs: nowMs });
    return lessons;
  }
}

/** Nothing of a coat whose figures are not held. */
function figured(row: BookRow | null): FiguredCoat[] {
  if (row === null) return [];
  const { coat: coatId, sheetId, sheetRevision, place, finishedAtMs, figures } = row;
  return [{ coatId, sheetId, sheetRevision, place, finishedAtMs, figures }];
}

function comparedView({ span, agreement: { counts, fit }, atSafe }: ShopSummary): Compared {
  return {
    span,
    agreement: {
      between: counts.between,
      fit: fit && { ratio: Math.exp(fit.mean), ratioLow: Math.exp(fit.low), ratioHigh: Math.exp(fit.high) },
    },
    atSafe,
  };
}

function refuseUnknown(what: string, asked: string | undefined, known: readonly string[]): void {
  if (asked === undefined || known.includes(asked)) return;
  throw new HttpProblem(404, `No ${what} "${asked}". There are ${known.join(", ") || "none"}.`);
}
