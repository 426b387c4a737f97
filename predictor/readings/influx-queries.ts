/** What is asked of InfluxDB about one series. */
import type { IPoint } from "influx";
import { type Quantity, quantities } from "../../collector/readings.ts";
import type { Group, InfluxConnection } from "./influx-connection.ts";
import { markFrom, markText } from "./mark-text.ts";
import { type Bucket, furthestMs, type Sample, type Series, type StoredReading } from "./store.ts";

type Bind = (text: string) => string;

const rowsAPage = 10_000;

export class InfluxQueries {
  readonly #connection: InfluxConnection;
  readonly #shop: string;

  constructor(connection: InfluxConnection, shop: string) {
    this.#connection = connection;
    this.#shop = shop;
  }

  async readings(line: Series, fromMs: number, toMs: number): Promise<Sample[]> {
    const samples: Sample[] = [];
    for (let nextMs = fromMs; ; ) {
      const page = await this.page(line, nextMs, toMs, rowsAPage);
      for (const sample of page) samples.push(sample);
      const last = page.at(-1);
      if (last === undefined || page.length < rowsAPage) return samples;
      nextMs = last.atMs + 1;
    }
  }

  /** The first so many of a span. */
  async page(line: Series, fromMs: number, toMs: number, rows: number): Promise<Sample[]> {
    const answer = await this.answer((bind) => [
      `SELECT value, bad, mark FROM readings WHERE ${this.during(line, bind, fromMs, toMs)} ORDER BY time LIMIT ${rows}`,
    ]);
    return answer.flatMap(([time, value, bad, mark]) => sampleOf(time, value, bad, mark) ?? []);
  }

  async rollUps(line: Series, fromMs: number, toMs: number): Promise<Bucket[]> {
    const rows = await this.answer((bind) => [
      `SELECT count, min, max, mean FROM five_minutes WHERE ${this.during(line, bind, fromMs, toMs)}`,
    ]);
    return rows.map(bucketOf);
  }

  /** Readings of use in buckets that are counted from another instant than the first of them. */
  async thinned(
    line: Series,
    { fromMs, toMs }: { fromMs: number; toMs: number },
    buckets: { fromMs: number; bucketMs: number },
  ): Promise<Bucket[]> {
    if (!(fromMs < toMs)) return [];
    const rows = await this.answer((bind) => [
      `SELECT count(value), min(value), max(value), mean(value) FROM readings
       WHERE ${this.ofUse(line, bind, fromMs, toMs)} ${byTime(buckets.fromMs, buckets.bucketMs)}`,
    ]);
    return rows.map(bucketOf);
  }

  /** Rows of one statement. */
  async answer(statements: (bind: Bind) => readonly [string]): Promise<Group["rows"]> {
    const [groups = []] = await this.#connection.ask(statements);
    return rowsOf(groups);
  }

  /** Condition for what lies in a span, as far as InfluxDB can hold instants. */
  during({ collector, sensor, quantity }: Series, bind: Bind, fromMs: number, toMs: number): string {
    const from = Math.ceil(Math.max(fromMs, -furthestMs));
    const to = Math.ceil(Math.min(toMs, furthestMs + 1));
    return `shop = ${bind(this.#shop)} AND collector = ${bind(collector)} AND sensor = ${bind(sensor)} AND quantity = ${bind(quantity)}
      AND time >= ${from}ms AND time < ${to}ms`;
  }

  /** The same, of readings of use. */
  ofUse(line: Series, bind: Bind, fromMs: number, toMs: number): string {
    const { lowest, highest } = quantities[line.quantity];
    return `value >= ${lowest} AND value <= ${highest} AND ${this.during(line, bind, fromMs, toMs)}`;
  }
}

/** Of a reading of a shop, as it is written. A bad one has its number apart, so that whoever asks for `value` alone gets none. */
export function readingPoint(shop: string, reading: StoredReading): IPoint {
  const { atMs, value, mark } = reading;
  const number = mark?.quality === "bad" ? { bad: value } : { value };
  return {
    measurement: "readings",
    tags: tagsOf(shop, reading),
    fields: { ...number, ...(mark && { mark: markText(mark) }) },
    timestamp: atMs,
  };
}

export function tagsOf(shop: string, { collector, sensor, quantity }: Series): Record<string, string> {
  return { shop, collector, sensor, quantity };
}

export function seriesOf({ tags: { collector = "", sensor = "", quantity } }: Group): Series {
  return { collector, sensor, quantity: quantity as Quantity };
}

/** Buckets of the database, whose first starts at an instant; those without a reading are left out. */
export function byTime(fromMs: number, bucketMs: number): string {
  const offsetMs = ((fromMs % bucketMs) + bucketMs) % bucketMs;
  return `GROUP BY time(${bucketMs}ms, ${offsetMs}ms) fill(none)`;
}

export function rowsOf(groups: readonly Group[]): Group["rows"] {
  return groups.flatMap(({ rows }) => rows);
}

export function timeOf(row: readonly unknown[] | undefined): number {
  return Number(row?.[0]);
}

export function sampleOf(time: unknown, value: unknown, bad: unknown, mark: unknown): Sample | undefined {
  const number = value ?? bad;
  if (typeof number !== "number") return undefined;
  const sample = { atMs: Number(time), value: number };
  return typeof mark === "string" ? { ...sample, mark: markFrom(mark) } : sample;
}

export function bucketOf([startMs, count, min, max, mean]: readonly unknown[]): Bucket {
  return { startMs: Number(startMs), count: Number(count), min: Number(min), max: Number(max), mean: Number(mean) };
}
