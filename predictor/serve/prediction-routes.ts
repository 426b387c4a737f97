/** The routes that say how well the predictions hold. */
import type { z } from "zod";
import type { Words } from "../../words/words.ts";
import type { Follow } from "../follow/follow.ts";
import type { BookKeeper } from "../proof/book-keeper.ts";
import { predictionsOf } from "../proof/predictions.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import {
  type PredictionsView,
  predictionQuerySchema,
  predictionsSchema,
  predictionTableQuerySchema,
} from "./prediction-api.ts";
import { predictionTable } from "./prediction-tables.ts";
import { predictionsView } from "./prediction-view.ts";
import { HttpProblem } from "./problem.ts";
import { download, type Route, route } from "./route.ts";

export interface PredictionRouteParts {
  shopFile: ShopFile;
  store: ReadingStore;
  records: Records;
  follow: Follow;
  bookKeeper: BookKeeper;
  now: () => number;
  /** Throw for what there is not. */
  placeOf: (id: string) => unknown;
  sheetOf: (id: string) => unknown;
}

const usualSpanMs = 90 * 24 * 60 * 60_000;
const longestSpanMs = 3 * 366 * 24 * 60 * 60_000;

/** The span that a question is about; the last 90 days where it names none. Throws for one that is none, or is too long. */
export function spanAsked(
  query: { from?: string | undefined; to?: string | undefined },
  nowMs: number,
): { fromMs: number; toMs: number } {
  const toMs = query.to === undefined ? nowMs : Date.parse(query.to);
  const fromMs = query.from === undefined ? toMs - usualSpanMs : Date.parse(query.from);
  if (!(fromMs < toMs && toMs - fromMs <= longestSpanMs)) {
    throw new HttpProblem(
      400,
      `"from" must lie before "to", by three years at most; found ${query.from} and ${query.to}.`,
    );
  }
  return { fromMs, toMs };
}

export function predictionRoutes(parts: PredictionRouteParts): Route[] {
  const { placeOf, sheetOf, now } = parts;
  const asked = async (query: z.output<typeof predictionQuerySchema>, words: Words): Promise<PredictionsView> => {
    const { fromMs, toMs } = spanAsked(query, now());
    if (query.place !== undefined) placeOf(query.place);
    if (query.sheet !== undefined) sheetOf(query.sheet);
    const question = { fromMs, toMs, sheetId: query.sheet, place: query.place };
    const predictions = await predictionsOf(
      { ...parts, figured: (coats) => parts.bookKeeper.figured(coats) },
      question,
    );
    return predictionsView(predictions, { ...parts, words, fromMs, toMs });
  };

  return [
    route({
      method: "get",
      path: "/api/predictions",
      summary:
        "How well the predictions hold: told against checked, what was learned, the nine-in-ten promise, coats and energy",
      query: predictionQuerySchema,
      response: predictionsSchema,
      handle: ({ query, words }) => asked(query, words),
    }),
    download({
      path: "/api/predictions.csv",
      summary:
        "The same as a table: what was told and checked of each stage of each coat, unless `table` names another",
      query: predictionTableQuerySchema,
      mediaType: "text/csv",
      handle: async ({ query, words }) => ({
        name: `${parts.shopFile.shop}-${query.table}.csv`,
        bytes: Buffer.from(predictionTable(query.table, await asked(query, words))),
      }),
    }),
  ];
}
