/** Readings in SQLite: one table, clustered by series and instant. */
import type { Quantity } from "../../collector/readings.ts";
import { openDatabase } from "../database.ts";
import { type Bucket, type ReadingStore, type Sample, type Series, type StoredReading, seriesKey } from "./store.ts";

const schema = `
  CREATE TABLE IF NOT EXISTS series (
    id INTEGER PRIMARY KEY,
    collector TEXT NOT NULL,
    sensor TEXT NOT NULL,
    quantity TEXT NOT NULL,
    UNIQUE (collector, sensor, quantity)
  ) STRICT;
  CREATE TABLE IF NOT EXISTS readings (
    series INTEGER NOT NULL,
    at_ms INTEGER NOT NULL,
    value REAL NOT NULL,
    PRIMARY KEY (series, at_ms)
  ) STRICT, WITHOUT ROWID;
`;

/** Opens (and makes, when absent) the store in a file; throws as openDatabase does. */
export function openSqliteStore(file: string): ReadingStore {
  const database = openDatabase(file, schema);

  const insertSeries = database.prepare<[string, string, string]>(
    "INSERT INTO series (collector, sensor, quantity) VALUES (?, ?, ?)",
  );
  const listSeries = database.prepare<[], Series & { id: number }>(
    "SELECT id, collector, sensor, quantity FROM series ORDER BY id",
  );
  const insert = database.prepare<[number, number, number]>(
    "INSERT INTO readings (series, at_ms, value) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
  );
  const selectRange = database.prepare<[number, number, number], Sample>(
    "SELECT at_ms AS atMs, value FROM readings WHERE series = ? AND at_ms >= ? AND at_ms < ? ORDER BY at_ms",
  );
  const selectLatest = database.prepare<[number, number], Sample>(
    "SELECT at_ms AS atMs, value FROM readings WHERE series = ? AND at_ms <= ? ORDER BY at_ms DESC LIMIT 1",
  );
  const selectThin = database.prepare<
    { series: number; fromMs: number; toMs: number; bucketMs: number; lowest: number; highest: number },
    Bucket
  >(
    // Numbers are bound as REAL: without the casts the division would be one of fractions.
    `WITH span AS (SELECT CAST(@fromMs AS INTEGER) AS from_ms, CAST(@bucketMs AS INTEGER) AS bucket_ms)
     SELECT from_ms + (at_ms - from_ms) / bucket_ms * bucket_ms AS startMs,
            count(*) AS count, min(value) AS min, max(value) AS max, avg(value) AS mean
     FROM readings, span
     WHERE series = @series AND at_ms >= from_ms AND at_ms < @toMs AND value BETWEEN @lowest AND @highest
     GROUP BY (at_ms - from_ms) / bucket_ms`,
  );

  const ids = new Map(listSeries.all().map((row) => [seriesKey(row), row.id]));
  const idOf = (series: Series): number => {
    const key = seriesKey(series);
    let id = ids.get(key);
    if (id === undefined) {
      id = Number(insertSeries.run(series.collector, series.sensor, series.quantity).lastInsertRowid);
      ids.set(key, id);
    }
    return id;
  };
  const appendAll = database.transaction((readings: readonly StoredReading[]) =>
    readings.filter((reading) => insert.run(idOf(reading), reading.atMs, reading.value).changes === 1),
  );

  return {
    async append(readings) {
      try {
        return appendAll(readings);
      } catch (error) {
        // A rolled-back transaction takes its new series with it.
        ids.clear();
        for (const row of listSeries.all()) ids.set(seriesKey(row), row.id);
        throw error;
      }
    },
    async range(series, fromMs, toMs) {
      const id = ids.get(seriesKey(series));
      return id === undefined ? [] : selectRange.all(id, fromMs, toMs);
    },
    async latest(series, atOrBeforeMs = Number.MAX_SAFE_INTEGER) {
      const id = ids.get(seriesKey(series));
      return id === undefined ? undefined : selectLatest.get(id, atOrBeforeMs);
    },
    async thin(series, span) {
      const id = ids.get(seriesKey(series));
      return id === undefined ? [] : selectThin.all({ series: id, ...span });
    },
    async series() {
      return listSeries
        .all()
        .map(({ collector, sensor, quantity }) => ({ collector, sensor, quantity: quantity as Quantity }));
    },
    async close() {
      database.close();
    },
  };
}
