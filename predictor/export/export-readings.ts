/** The readings in open forms, a folder for each series: SenML a day, and CSV of readings and of five minutes. */
import { createWriteStream, mkdirSync } from "node:fs";
import { type FileHandle, open } from "node:fs/promises";
import { join } from "node:path";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { createGzip } from "node:zlib";
import { packOf, type Quantity } from "../../collector/readings.ts";
import { type Cell, csvLine } from "../csv.ts";
import { daysOf, type Span } from "../readings/days.ts";
import { type ReadingSource, rollUpMs, type Sample, type Series } from "../readings/store.ts";

export interface ReadingsExported {
  series: number;
  readings: number;
  fiveMinutes: number;
}

const hourMs = 60 * 60_000;

const columnOf: Readonly<Record<Quantity, string>> = {
  "air-temperature": "air_c",
  "air-humidity": "rh_percent",
  "panel-temperature": "panel_c",
  "air-speed": "air_speed_mps",
  "air-pressure": "air_pressure_pa",
};

/** An hour of one series at a time, so that memory has a bound. Series without any reading in the span get no folder. */
export async function exportReadings(source: ReadingSource, folder: string, span: Span): Promise<ReadingsExported> {
  const exported: ReadingsExported = { series: 0, readings: 0, fiveMinutes: 0 };
  for (const series of await source.series()) {
    const first = await source.earliest(series, span.fromMs);
    if (!(first !== undefined && first.atMs < span.toMs)) continue;
    const one = await exportSeries(
      source,
      series,
      join(folder, series.collector, series.sensor, series.quantity),
      span,
    );
    exported.series += 1;
    exported.readings += one.readings;
    exported.fiveMinutes += one.fiveMinutes;
  }
  return exported;
}

async function exportSeries(source: ReadingSource, series: Series, folder: string, span: Span) {
  mkdirSync(folder, { recursive: true });
  const column = columnOf[series.quantity];
  const readings = await CsvFile.begin(join(folder, "readings.csv"), ["at", column, "quality", "why"]);
  const figures = ["count", `min_${column}`, `mean_${column}`, `max_${column}`];
  const fiveMinutes = await CsvFile.begin(join(folder, "five-minutes.csv"), ["start_at", ...figures]);
  try {
    for await (const day of daysOf(source, series, span)) {
      const hours = hoursOf(source, series, day, readings);
      const { value: first } = await hours.next();
      if (first !== undefined) {
        const name = `${isoOf(day.fromMs).slice(0, "2026-03-02".length)}.senml.json.gz`;
        const file = createWriteStream(join(folder, name), { flags: "wx" });
        await pipeline(Readable.from(packIn(series, first, hours)), createGzip(), file);
      }
      const whole = { fromMs: rollUpFrom(day.fromMs), toMs: rollUpFrom(day.toMs), bucketMs: rollUpMs };
      const buckets = await source.thin(series, whole);
      await fiveMinutes.add(
        buckets.map(({ startMs, count, min, mean, max }) => [isoOf(startMs), count, min, mean, max]),
      );
    }
  } finally {
    await readings.close();
    await fiveMinutes.close();
  }
  return { readings: readings.rows, fiveMinutes: fiveMinutes.rows };
}

/** The readings of each hour of a day that has some; they stand in the CSV file when they are given. */
async function* hoursOf(source: ReadingSource, series: Series, { fromMs, toMs }: Span, csv: CsvFile) {
  for (let startMs = fromMs; startMs < toMs; startMs += hourMs) {
    const samples = (await source.range(series, startMs, Math.min(startMs + hourMs, toMs))).filter(isReading);
    if (samples.length === 0) continue;
    await csv.add(
      samples.map(({ atMs, value, mark }) => [isoOf(atMs), value, mark?.quality ?? null, mark?.why ?? null]),
    );
    yield samples;
  }
}

/** One SenML pack in pieces, each with base fields of its own, which replace those before (RFC 8428 §4.1). */
async function* packIn({ collector, sensor, quantity }: Series, first: Sample[], more: AsyncIterable<Sample[]>) {
  const piece = (samples: readonly Sample[]) => {
    const pack = packOf(
      collector,
      samples.map((sample) => ({ sensor, quantity, ...sample })),
    );
    return JSON.stringify(pack).slice(1, -1);
  };
  yield `[${piece(first)}`;
  for await (const samples of more) yield `,\n${piece(samples)}`;
  yield "]\n";
}

/** A mean is no reading, and stands among the five minutes only. */
const isReading = ({ meanOverMs }: Sample): boolean => meanOverMs === undefined;
/** Start of the first five minutes that begin at an instant or later. */
const rollUpFrom = (atMs: number): number => Math.ceil(atMs / rollUpMs) * rollUpMs;
const isoOf = (atMs: number): string => new Date(atMs).toISOString();

/** A file that grows by some rows at a time. */
class CsvFile {
  readonly #handle: FileHandle;
  rows = 0;

  private constructor(handle: FileHandle) {
    this.#handle = handle;
  }

  static async begin(path: string, header: readonly string[]): Promise<CsvFile> {
    const handle = await open(path, "wx");
    await handle.writeFile(csvLine(header));
    return new CsvFile(handle);
  }

  async add(rows: readonly (readonly Cell[])[]): Promise<void> {
    await this.#handle.writeFile(rows.map(csvLine).join(""));
    this.rows += rows.length;
  }

  async close(): Promise<void> {
    await this.#handle.close();
  }
}
