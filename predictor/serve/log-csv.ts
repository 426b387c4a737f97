/** All coats that fit a question as CSV, written as fast as it is taken. */
import { once } from "node:events";
import type { Response } from "express";
import { type Cell, csvLine } from "../csv.ts";
import type { BookQuery } from "../proof/book-query.ts";
import { type BookRow, bookState } from "../proof/book-row.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import type { Spread } from "../proof/spread.ts";

const iso = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());
const rounded = (value: number | null | undefined, digits: number): number | null =>
  value === null || value === undefined ? null : Number(value.toFixed(digits));
const spread = (name: string, unit: string, of: (row: BookRow) => Spread | null): Column[] => [
  [`${name}_min_${unit}`, (row) => rounded(of(row)?.min, 2)],
  [`${name}_mean_${unit}`, (row) => rounded(of(row)?.mean, 2)],
  [`${name}_max_${unit}`, (row) => rounded(of(row)?.max, 2)],
  [`${name}_outside_min`, (row) => rounded(of(row)?.minutesOutside, 1)],
];

type Column = [name: string, cell: (row: BookRow, nowMs: number, placeName: LogCsvParts["placeName"]) => Cell];
const columns: readonly Column[] = [
  ["finished_at", (row) => iso(row.finishedAtMs)],
  ["job", (row) => row.job],
  ["car", (row) => row.car],
  ["panels", (row) => row.panels.join("; ")],
  ["sheet", (row) => row.sheetId],
  ["sheet_revision", (row) => row.sheetRevision],
  ["sheet_name", (row) => row.sheetName],
  ["place", (row, _, placeName) => placeName(row)],
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
  /** What the file is called by: the shop, or the group of shops. */
  of: string;
  placeName: (row: BookRow) => string;
  /** Set where there are several shops: theirs is the first column then. */
  shopName?: (row: BookRow) => string;
  nowMs: number;
}

export async function sendLogCsv(
  { book, of, placeName, shopName, nowMs }: LogCsvParts,
  query: BookQuery,
  response: Response,
): Promise<void> {
  const shown: readonly Column[] = shopName === undefined ? columns : [["shop", shopName], ...columns];
  response.attachment(`${of}-log-${new Date(nowMs).toISOString().slice(0, 10)}.csv`);
  response.type("text/csv; charset=utf-8; header=present");
  response.write(csvLine(shown.map(([name]) => name)));
  for (const rows of book.all(query, nowMs)) {
    const text = rows.map((row) => csvLine(shown.map(([, cell]) => cell(row, nowMs, placeName)))).join("");
    if (response.destroyed) return;
    if (!response.write(text)) await Promise.race([once(response, "drain"), once(response, "close")]);
    await new Promise((resolve) => setImmediate(resolve));
  }
  response.end();
}
