/** Rows of a CSV file as readings at the file's own instants (docs/playback.md). */
import { createReadStream } from "node:fs";
import { pipeline } from "node:stream";
import { parse } from "csv-parse";
import { DateTime, IANAZone } from "luxon";
import type { Logger } from "pino";
import type { Reading } from "../readings.ts";
import type { PlaybackSettings } from "../settings.ts";
import type { Tally } from "../tally.ts";
import { parseDecimal } from "./decimal.ts";

/** Instants outside are taken for a wrong time format. Below the first, SenML would read a time as relative (RFC 8428 §4.5.3). */
const earliestMs = 2 ** 28 * 1000;
const latestMs = Date.UTC(2100, 0, 1);

export interface PlaybackRow {
  /** The file's own instant. */
  atMs: number;
  readings: Reading[];
}

export interface PlaybackFile {
  path: string;
  /** IANA zone of times without an offset. */
  zone: string;
  settings: Pick<PlaybackSettings, "delimiter" | "time" | "columns">;
}

/** A longer row, such as a file without line ends, is no row. */
const longestRowChars = 100_000;

/**
 * Yields each row that has an instant and at least one value; what is wrong in others is tallied with its line number.
 * Throws when the file cannot be read, has no header, lacks a column, or the zone does not exist.
 */
export async function* playbackRows(
  file: PlaybackFile,
  { tally, logger, signal }: { tally: Tally; logger: Logger; signal: AbortSignal },
): AsyncGenerator<PlaybackRow> {
  const { path, settings } = file;
  const instantOf = instantReader(settings.time.format, file.zone);
  const parser = parse({
    delimiter: settings.delimiter,
    bom: true,
    info: true,
    relax_column_count: true,
    skip_empty_lines: true,
    trim: true,
    relax_quotes: true,
    max_record_size: longestRowChars,
  });
  // A failure to read ends the loop over the rows, which throws it.
  pipeline(createReadStream(path, { signal }), parser, () => undefined);

  let header: string[] | undefined;
  let layout: Layout | undefined;
  let lastMs = Number.NEGATIVE_INFINITY;
  for await (const { record, info } of parser as AsyncIterable<{ record: string[]; info: { lines: number } }>) {
    if (header === undefined) {
      header = record;
      columnIndexes(file, header, 0);
      continue;
    }
    if (layout === undefined) {
      const unnamed = record.length === header.length + 1 ? 1 : 0;
      if (unnamed === 1) {
        logger.warn(
          { file: path },
          "rows have one field more than the header: the first is taken for an unnamed row number",
        );
      }
      layout = columnIndexes(file, header, unnamed);
    }
    const at = { file: path, line: info.lines };
    if (record.length !== layout.fields) {
      tally.fault("wrong number of fields", { ...at, found: record.length, expected: layout.fields });
      continue;
    }
    const atMs = instantOf(record[layout.time] ?? "", lastMs);
    if (Number.isNaN(atMs)) {
      tally.fault("unreadable time", { ...at, found: record[layout.time], expected: settings.time.format });
      continue;
    }
    lastMs = atMs;
    const readings: Reading[] = [];
    for (const { index, sensor, quantity } of layout.values) {
      const text = record[index] ?? "";
      const value = parseDecimal(text);
      if (text === "") tally.count("empty cell");
      else if (Number.isNaN(value)) tally.fault("unreadable value", { ...at, found: text, quantity });
      else readings.push({ sensor, quantity, atMs, value });
    }
    if (readings.length > 0) yield { atMs, readings };
  }
  if (header === undefined && !signal.aborted) throw new Error(`${path} is empty: expected a header row`);
}

/** Where in a row the time and each value stand, and how many fields a row has. */
interface Layout {
  fields: number;
  time: number;
  values: (Pick<Reading, "sensor" | "quantity"> & { index: number })[];
}

function columnIndexes({ path, settings }: PlaybackFile, header: string[], unnamed: number): Layout {
  const indexOf = (column: string) => {
    const index = header.indexOf(column);
    if (index >= 0) return index + unnamed;
    const found = header.map((name) => JSON.stringify(name)).join(", ");
    throw new Error(`${path} has no column ${JSON.stringify(column)}; its header names ${found}`);
  };
  return {
    fields: header.length + unnamed,
    time: indexOf(settings.time.column),
    values: settings.columns.map(({ column, sensor, quantity }) => ({ index: indexOf(column), sensor, quantity })),
  };
}

/**
 * Reads an instant, UTC milliseconds, in the given format; NaN for what does not parse or lies outside 1978–2100.
 * A local time that comes twice, as clocks go back, is taken for the first that follows `afterMs`, the row before.
 * Throws a RangeError for a zone that does not exist.
 */
export function instantReader(format: string, zone: string): (text: string, afterMs?: number) => number {
  if (!IANAZone.isValidZone(zone)) throw new RangeError(`${JSON.stringify(zone)} is no IANA time zone`);
  const read = readerOf(format, zone);
  return (text, afterMs = Number.NEGATIVE_INFINITY) => {
    const atMs = Math.round(read(text, afterMs));
    return atMs >= earliestMs && atMs < latestMs ? atMs : Number.NaN;
  };
}

function readerOf(format: string, zone: string): (text: string, afterMs: number) => number {
  if (format === "unix-seconds") return (text) => parseDecimal(text) * 1000;
  if (format === "unix-milliseconds") return parseDecimal;
  // A text with an offset of its own keeps it, so that its instant is never in doubt.
  const options = { zone, setZone: true, locale: "en" };
  if (format === "iso") return (text, afterMs) => firstAfter(DateTime.fromISO(text, options), afterMs);
  const pattern = DateTime.buildFormatParser(format, { locale: "en" });
  return (text, afterMs) => firstAfter(DateTime.fromFormatParser(text, pattern, options), afterMs);
}

function firstAfter(time: DateTime, afterMs: number): number {
  if (!time.isValid) return Number.NaN;
  const possibleMs = time.getPossibleOffsets().map((possible) => possible.toMillis());
  return possibleMs.find((atMs) => atMs > afterMs) ?? Math.min(...possibleMs);
}
