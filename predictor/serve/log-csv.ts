/** All coats that fit a question as CSV, written as fast as it is taken. */
import { once } from "node:events";
import type { Response } from "express";
import { type Cell, csvLine } from "../csv.ts";
import { type BookRow, bookState } from "../proof/book-row.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import type { Spread } from "../proof/spread.ts";
import type { ShopFile } from "../shop-file.ts";
import type { LogQuery } from "./proof-api.ts";
import { bookQuery } from "./proof-views.ts";

const iso = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());
const rounded = (value: number | null | undefined, digits: number): number | null =>
  value === null || value === undefined ? null : Number(value.toFixed(digits));
const spread = (name: string, unit: string, of: (row: BookRow) => Spread | null): Column[] => [
  [`${name}_min_${unit}`, (row) => rounded(of(row)?.min, 2)],
  [`${name}_mean_${unit}`, (row) => rounded(of(row)?.mean, 2)],
  [`${name}_max_${unit}`, (row) => rounded(of(row)?.max, 2)],
  [`${name}_outside_min`, (row) => rounded(of(row)?.minutesOutside, 1)],
];

type Column = [name: string, cell: (row: BookRow, nowMs: number, places: ShopFile["places"]) => Cell];
const columns: readonly Column[] = [
  ["finished_at", (row) => iso(row.finishedAtMs)],
  ["job", (row) => row.job],
  ["car", (row) => row.car],
  ["panels", (row) => row.panels.join("; ")],
  ["sheet", (row) => row.sheetId],
  ["sheet_revision", (row) => row.sheetRevision],
  ["sheet_name", (row) => row.sheetName],
  ["place", (row, _, places) => places[row.place]?.name ?? row.place],
  ["who", (row) => row.who],
  ["state", (row, nowMs) => bookState(row, nowMs)],
  ["release_stage", (row) => row.figures.releaseStage],
  ["safe_at", (row) => iso(row.safeAtMs)],
  ["figures_until", (row) => iso(row.figures.untilMs)],
  ...spread("air", "c", ({ figures }) => figures.airC),
  ...spread("panel", "c", ({ figures }) => figures.panelC),
  ...spread("humidity", "percent", ({ figures }) => figures.rhPercent),
  ...spread("dew_margin", "k", ({ figures }) => figures.dewMarginC),
  ["without_readings_min", (row) => rounded(row.figures.gapMinutes, 1)],
  ["covered_at", (row) => iso(row.figures.coveredAtMs)],
  ["waited_min", (row) => rounded(row.figures.waitedMinutes, 1)],
  ["deviations", (row) => row.deviations.map(({ code }) => code).join("; ")],
  ["deviations_open", (row) => row.deviations.filter(({ isAnswered }) => !isAnswered).length],
  ["coat", (row) => row.coat],
];

export interface LogCsvParts {
  book: CoatBook;
  shopFile: Pick<ShopFile, "places" | "shop">;
  now: () => number;
}

export async function sendLogCsv(
  { book, shopFile, now }: LogCsvParts,
  query: LogQuery,
  response: Response,
): Promise<void> {
  const nowMs = now();
  response.attachment(`${shopFile.shop}-log-${new Date(nowMs).toISOString().slice(0, 10)}.csv`);
  response.type("text/csv; charset=utf-8; header=present");
  response.write(csvLine(columns.map(([name]) => name)));
  for (const rows of book.all(bookQuery(query), nowMs)) {
    const text = rows.map((row) => csvLine(columns.map(([, cell]) => cell(row, nowMs, shopFile.places)))).join("");
    if (response.destroyed) return;
    if (!response.write(text)) await Promise.race([once(response, "drain"), once(response, "close")]);
    await new Promise((resolve) => setImmediate(resolve));
  }
  response.end();
}
