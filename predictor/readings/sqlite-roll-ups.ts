/** Roll-ups in SQLite: what is kept of five minutes whose readings are gone. Readings of no use are not in them. */
import type Database from "better-sqlite3";
import { type Quantity, quantities } from "../../collector/readings.ts";
import { type Bucket, rollUpMs, rollUpStart, type Sample } from "./store.ts";

export const rollUpTable = `
  CREATE TABLE IF NOT EXISTS roll_ups (
    series INTEGER NOT NULL,
    start_ms INTEGER NOT NULL,
    count INTEGER NOT NULL,
    min REAL NOT NULL,
    max REAL NOT NULL,
    mean REAL NOT NULL,
    PRIMARY KEY (series, start_ms)
  ) STRICT, WITHOUT ROWID;
`;

/** Of a reading that is not marked bad, in SQL. */
export const notBad = "(mark IS NULL OR mark NOT LIKE 'bad:%')";
/** Of one that is of use, between bounds that are bound by these names. */
export const isOfUse = `value BETWEEN @lowest AND @highest AND ${notBad}`;

/** What to bind for `isOfUse`. */
export function boundsOf(quantity: Quantity): { lowest: number; highest: number } {
  const { lowest, highest } = quantities[quantity];
  return { lowest, highest };
}

export interface SpanOfLine {
  /** Id of the series. */
  series: number;
  fromMs: number;
  toMs: number;
}

/** An hour of one series: 3,600 readings where one comes each second. */
const rollUpsAPiece = 12;
const middleMs = rollUpMs / 2;

export class RollUps {
  readonly #has: Database.Statement<[number, number]>;
  readonly #range: Database.Statement<SpanOfLine, Sample>;
  readonly #latest: Database.Statement<[number, number], Sample>;
  readonly #earliest: Database.Statement<[number, number], Sample>;
  readonly #thin: Database.Statement<SpanOfLine & { bucketMs: number }, Bucket>;
  readonly #oldestReading: Database.Statement<[number], { atMs: number | null }>;
  readonly #insert: Database.Statement<SpanOfLine & { lowest: number; highest: number }>;
  readonly #dropReadings: Database.Statement<SpanOfLine>;

  constructor(db: Database.Database) {
    const select = `SELECT start_ms + ${middleMs} AS atMs, mean AS value, ${rollUpMs} AS meanOverMs FROM roll_ups`;
    this.#has = db.prepare("SELECT 1 FROM roll_ups WHERE series = ? AND start_ms = ?");
    this.#range = db.prepare(
      `${select} WHERE series = @series AND start_ms >= @fromMs - ${middleMs} AND start_ms < @toMs - ${middleMs} ORDER BY start_ms`,
    );
    this.#latest = db.prepare(
      `${select} WHERE series = ? AND start_ms <= ? - ${middleMs} ORDER BY start_ms DESC LIMIT 1`,
    );
    this.#earliest = db.prepare(`${select} WHERE series = ? AND start_ms >= ? - ${middleMs} ORDER BY start_ms LIMIT 1`);
    this.#thin = db.prepare(
      // Numbers are bound as REAL: without the casts the division would be one of fractions.
      `WITH span AS (SELECT CAST(@fromMs AS INTEGER) AS from_ms, CAST(@bucketMs AS INTEGER) AS bucket_ms)
       SELECT from_ms + (start_ms - from_ms) / bucket_ms * bucket_ms AS startMs,
              sum(count) AS count, min(min) AS min, max(max) AS max, sum(count * mean) / sum(count) AS mean
       FROM roll_ups, span
       WHERE series = @series AND start_ms >= from_ms AND start_ms < @toMs
       GROUP BY (start_ms - from_ms) / bucket_ms`,
    );
    this.#oldestReading = db.prepare("SELECT min(at_ms) AS atMs FROM readings WHERE series = ?");
    this.#insert = db.prepare(
      // A roll-up that is there stays: readings beside it can only be copies of those in it.
      `INSERT OR IGNORE INTO roll_ups
       SELECT @series, @fromMs, count(*), min(value), max(value), avg(value) FROM readings
       WHERE series = @series AND at_ms >= @fromMs AND at_ms < @toMs AND ${isOfUse} HAVING count(*) > 0`,
    );
    this.#dropReadings = db.prepare(
      "DELETE FROM readings WHERE series = @series AND at_ms >= @fromMs AND at_ms < @toMs",
    );
  }

  /** Whether readings of an instant were rolled up. */
  has(series: number, atMs: number): boolean {
    return this.#has.get(series, rollUpStart(atMs)) !== undefined;
  }

  range(span: SpanOfLine): Sample[] {
    return this.#range.all(span);
  }

  /** The newest one at or before an instant, if there is one. */
  latest(series: number, atOrBeforeMs: number): Sample[] {
    return this.#latest.all(series, atOrBeforeMs);
  }

  /** The oldest one at or after an instant, if there is one. */
  earliest(series: number, atOrAfterMs: number): Sample[] {
    return this.#earliest.all(series, atOrAfterMs);
  }

  thin(span: SpanOfLine & { bucketMs: number }): Bucket[] {
    const buckets = this.#thin.all(span);
    return span.bucketMs < rollUpMs ? buckets.map((bucket) => ({ ...bucket, isCoarse: true })) : buckets;
  }

  /** Rolls up the oldest readings of a series, as far as whole roll-ups lie before an instant; how many are gone. Part of the caller's transaction. */
  make(series: number, quantity: Quantity, beforeMs: number): number {
    let taken = 0;
    for (let n = 0; n < rollUpsAPiece; n++) {
      const oldestMs = this.#oldestReading.get(series)?.atMs ?? null;
      if (oldestMs === null) break;
      const fromMs = rollUpStart(oldestMs);
      const span = { series, fromMs, toMs: fromMs + rollUpMs };
      if (!(span.toMs <= beforeMs)) break;
      this.#insert.run({ ...span, ...boundsOf(quantity) });
      taken += this.#dropReadings.run(span).changes;
    }
    return taken;
  }
}
