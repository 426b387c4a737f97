/** Temperature series that no one here made, for scoring the forecast. */
import { existsSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { parse } from "csv-parse/sync";
import type { HalfHour, PlaceModelOptions } from "../../predictor/forecast/place-model.ts";

const hourMs = 3_600_000;
const halfHourMs = 1_800_000;

export interface Series {
  name: string;
  /** Means of the half hours of what was read. */
  halfHours: HalfHour[];
  /** Readings at the instants from which and for which a forecast is scored. */
  readings: Map<number, number>;
  options: PlaceModelOptions;
}

/** What a series could not be read for. */
export interface Absent {
  name: string;
  absent: string;
}

/** A file by its path from the repository's root; the compiled bench runs one folder deeper than its source. */
function fromRoot(path: string): string | undefined {
  return ["../..", "../../.."].map((root) => resolve(import.meta.dirname, root, path)).find((file) => existsSync(file));
}

/** An office in Belgium over 5.7 days of February 2015, a reading a minute (UCI "Occupancy Detection", training part). */
export function office(): Series | Absent {
  const name = "office, 5.7 days";
  const rows = rowsOf(fromRoot("../shared/data/occupancy_datatraining.csv"), false);
  if (rows === null) return { name, absent: "no occupancy_datatraining.csv" };
  const readings = rows
    .slice(1)
    .map((row) => ({ atMs: Date.parse(`${row[1]?.replace(" ", "T")}+01:00`), airC: Number(row[2]) }));
  return fromReadings(name, readings, hourMs);
}

/** A mote in a room, a reading each 5 s for 6 hours and no clock: the number of the row is the time. */
export function indoorMote(): Series | Absent {
  const name = "indoor mote, 6 hours";
  const rows = rowsOf(fromRoot("../shared/data/singlehop_5s_labelled.csv"), true);
  if (rows === null) return { name, absent: "no singlehop_5s_labelled.csv" };
  const readings = rows.filter((row) => row[1] === "2").map((row, n) => ({ atMs: n * 5000, airC: Number(row[4]) }));
  return fromReadings(name, readings, 0);
}

/** Chicago O'Hare, hourly, a typical year put together from months of different years (TMY3): each month's first days are odd. */
export function chicago(): Series | Absent {
  const name = "outdoors, Chicago";
  const rows = rowsOf(fromRoot("../shared/data/epw_chicago_ohare_tmy3_hourly.csv"), true);
  if (rows === null) return { name, absent: "no epw_chicago_ohare_tmy3_hourly.csv" };
  return fromHours(
    name,
    Date.UTC(2001, 0, 1, 7),
    rows.map((row) => Number(row[5])),
    -6 * hourMs,
  );
}

/** Seattle, hourly normals: means over 30 years, so much smoother than any real year. */
export function seattleNormals(): Series | Absent {
  const name = "outdoors, Seattle normals";
  const rows = rowsOf(fromRoot("node_modules/vega-datasets/data/seattle-weather-hourly-normals.csv"), true);
  if (rows === null) return { name, absent: "no vega-datasets" };
  return fromHours(
    name,
    Date.UTC(2010, 0, 1, 9),
    rows.map((row) => Number(row[2])),
    -8 * hourMs,
  );
}

function rowsOf(file: string | undefined, header: boolean): string[][] | null {
  if (file === undefined) return null;
  const rows: string[][] = parse(readFileSync(file), { relax_column_count: true });
  return header ? rows.slice(1) : rows;
}

/** Half-hour means of readings, and as the reading at a boundary the last one of the minute before. */
function fromReadings(name: string, readings: readonly { atMs: number; airC: number }[], offset: number): Series {
  const sums = new Map<number, { sum: number; count: number }>();
  const boundaries = new Map<number, number>();
  for (const { atMs, airC } of readings) {
    const startMs = Math.floor(atMs / halfHourMs) * halfHourMs;
    const half = sums.get(startMs) ?? { sum: 0, count: 0 };
    sums.set(startMs, { sum: half.sum + airC, count: half.count + 1 });
    const boundaryMs = Math.ceil(atMs / halfHourMs) * halfHourMs;
    if (boundaryMs - atMs <= 61_000) boundaries.set(boundaryMs, airC);
  }
  const halfHours = [...sums].map(([startMs, { sum, count }]) => ({ startMs, airC: sum / count }));
  return { name, halfHours, readings: boundaries, options: { offsetMs: () => offset } };
}

/** Hourly values at an instant: each half hour the mean of the line between them. Scored at the hours only, which were read. */
function fromHours(name: string, startMs: number, values: readonly number[], offset: number): Series {
  const halfHours: HalfHour[] = [];
  const readings = new Map<number, number>();
  for (const [hour, airC] of values.entries()) {
    const atMs = startMs + hour * hourMs;
    readings.set(atMs, airC);
    const next = values[hour + 1];
    if (next === undefined) continue;
    halfHours.push({ startMs: atMs, airC: 0.75 * airC + 0.25 * next });
    halfHours.push({ startMs: atMs + halfHourMs, airC: 0.25 * airC + 0.75 * next });
  }
  return { name, halfHours, readings, options: { offsetMs: () => offset } };
}
