/** What the page of predictions shows, as tables for programs: names in English, instants in UTC, deviations as ln. */
import { type Cell, csvLine } from "../csv.ts";
import type { PredictionsView, predictionTables, ShareView, SpanFiguresView } from "./prediction-api.ts";

type Table = (typeof predictionTables)[number];

export function predictionTable(table: Table, view: PredictionsView): string {
  const { names, rows } = tables[table](view);
  return [names, ...rows].map(csvLine).join("");
}

interface Rows {
  names: string[];
  rows: Cell[][];
}

const ofSheet = ["sheet", "revision"];
const ofShare = ["checks", "ready", "share_ready", "low_95", "high_95", "mean_told", "mean_expected"];
const ofCoats = [
  "coats",
  "drying_hours",
  "outside_limits_hours",
  "outside_limits_share",
  "windows_missed",
  "covered_early",
  "waiting_coats",
  "waiting_median_minutes",
  "waiting_ninth_decile_minutes",
  "waiting_total_hours",
];

const tables: Record<Table, (view: PredictionsView) => Rows> = {
  pairs: ({ sheets }) => ({
    names: [
      ...ofSheet,
      ...["coat", "place", "stage", "kind", "not_yet_at", "ready_at", "told_likely_at", "told_safe_at"],
      ...["ln_low", "ln_high"],
    ],
    rows: sheets.flatMap(({ sheet, pairs }) =>
      pairs.map((pair) => [
        ...[sheet.id, sheet.revision, pair.coat, pair.place?.id ?? null, pair.stage, pair.kind],
        ...[pair.notYetAt, pair.readyAt, pair.toldLikelyAt, pair.toldSafeAt, pair.lnLow, pair.lnHigh],
      ]),
    ),
  }),
  learned: ({ sheets }) => ({
    names: [...ofSheet, "at", "checks", "time_factor", "low_80", "high_80"],
    rows: sheets.flatMap(({ sheet, learned }) =>
      learned.map(({ at, checks, timeFactor, low, high }) => [
        ...[sheet.id, sheet.revision, at, checks, timeFactor, low, high],
      ]),
    ),
  }),
  calibration: ({ calibration: { atSafe, firstAtSafe, bands } }) => ({
    names: ["of", "told_from", "told_to", ...ofShare],
    rows: [
      ["first of each coat at or after safe", null, null, ...shareCells(atSafe)],
      ["first looks of all at or after safe", null, null, ...shareCells(firstAtSafe)],
      ...bands.map(({ from, to, ...band }) => ["first looks", from, to, ...shareCells(band)]),
    ],
  }),
  control: ({ sheets }) => ({
    names: [
      ...ofSheet,
      ...["coat", "at", "ln_middle", "moving_range", "outside", "range_outside"],
      ...["mean", "lower_limit", "upper_limit", "mean_range", "range_limit"],
    ],
    rows: sheets.flatMap(({ sheet, control: { points, limits } }) =>
      points.map(({ coat, at, middle, range, outside, isRangeOutside }) => [
        ...[sheet.id, sheet.revision, coat, at, middle, range, outside, isRangeOutside ? "above" : null],
        ...[limits?.mean, limits?.lower, limits?.upper, limits?.meanRange, limits?.rangeUpper].map(
          (each) => each ?? null,
        ),
      ]),
    ),
  }),
  coats: ({ span: { all, rows } }) => ({
    names: [...ofSheet, "place", ...ofCoats],
    rows: [
      ...rows.map(({ sheet, place, ...figures }) => [
        ...[sheet.id, sheet.revision, place?.id ?? null],
        ...coatCells(figures),
      ]),
      ["all", null, null, ...coatCells(all)],
    ],
  }),
};

function shareCells({ checks, ready, found, told, expected }: ShareView): Cell[] {
  return [checks, ready, found?.share ?? null, found?.low ?? null, found?.high ?? null, told, expected];
}

function coatCells({ waiting, ...figures }: SpanFiguresView): Cell[] {
  const { coats, dryingHours, outsideHours, outsideShare, windowsMissed, coveredEarly } = figures;
  const waited = [waiting?.coats, waiting?.medianMinutes, waiting?.ninthDecileMinutes, waiting?.totalHours];
  return [
    coats,
    dryingHours,
    outsideHours,
    outsideShare,
    windowsMissed,
    coveredEarly,
    ...waited.map((each) => each ?? null),
  ];
}
