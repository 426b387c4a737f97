/** Readings in SQLite: one table, clustered by series and instant. */
import Database from "better-sqlite3";
import { type Mark, markSchema, type Quantity } from "../../collector/readings.ts";
import { openOrReplaceDatabase } from "../database.ts";
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
    mark TEXT, -- quality and why, such as "bad: stuck"; null for a good one
    PRIMARY KEY (series, at_ms)
  ) STRICT, WITHOUT ROWID;
`;

const seriesInOrder = "SELECT id, collector, sensor, quantity FROM series ORDER BY id";
type SeriesRow = Series & { id: number };

interface SampleRow {
  atMs: number;
  value: number;
  mark: string | null;
}

/**
 * Opens (and makes, when absent) the store in a file. A damaged file is moved aside, as `damage` says then: coats whose
 * readings were in it have gaps, but the shop goes on. Throws as openDatabase does when the file can't be used for another reason.
 */
export function openSqliteStore(file: string): ReadingStore & { damage: string | null } {
  const { database, damage } = openOrReplaceDatabase(file, schema, Date.now());
  addMarks(database);

  const insertSeries = database.prepare<[string, string, string]>(
    "INSERT INTO series (collector, sensor, quantity) VALUES (?, ?, ?)",
  );
  const listSeries = database.prepare<[], SeriesRow>(seriesInOrder);
  const insert = database.prepare<[number, number, number, string | null]>(
    "INSERT INTO readings (series, at_ms, value, mark) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
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
    readings.filter(
      (reading) => insert.run(idOf(reading), reading.atMs, reading.value, markText(reading.mark)).changes === 1,
    ),
  );

  return {
    damage,
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
    ...reading(database, ids),
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

/** What is in a store, to read while the program may be writing to it. Throws where the file is none, or of a version before readings had marks. */
export function readSqliteStore(file: string): Pick<ReadingStore, "range" | "latest" | "close"> {
  const database = new Database(file, { readonly: true, fileMustExist: true });
  try {
    const rows = database.prepare<[], SeriesRow>(seriesInOrder).all();
    const ids = new Map(rows.map((row) => [seriesKey(row), row.id]));
    return { ...reading(database, ids), close: async () => void database.close() };
  } catch (error) {
    database.close();
    throw error;
  }
}

/** The questions that a store answers, by the number that each series has in it. */
function reading(
  database: Database.Database,
  ids: ReadonlyMap<string, number>,
): Pick<ReadingStore, "range" | "latest" | "thin"> {
  const notBad = "(mark IS NULL OR mark NOT LIKE 'bad:%')";
  const selectRange = database.prepare<[number, number, number], SampleRow>(
    "SELECT at_ms AS atMs, value, mark FROM readings WHERE series = ? AND at_ms >= ? AND at_ms < ? ORDER BY at_ms",
  );
  const selectLatest = database.prepare<[number, number], SampleRow>(
    `SELECT at_ms AS atMs, value, mark FROM readings WHERE series = ? AND at_ms <= ? AND ${notBad} ORDER BY at_ms DESC LIMIT 1`,
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
       AND ${notBad}
     GROUP BY (at_ms - from_ms) / bucket_ms`,
  );

  return {
    async range(series, fromMs, toMs) {
      const id = ids.get(seriesKey(series));
      return id === undefined ? [] : selectRange.all(id, fromMs, toMs).map(sampleOf);
    },
    async latest(series, atOrBeforeMs = Number.MAX_SAFE_INTEGER) {
      const id = ids.get(seriesKey(series));
      const row = id === undefined ? undefined : selectLatest.get(id, atOrBeforeMs);
      return row && sampleOf(row);
    },
    async thin(series, span) {
      const id = ids.get(seriesKey(series));
      return id === undefined ? [] : selectThin.all({ series: id, ...span });
    },
  };
}

/** A store that was made before readings had marks gets the column. */
function addMarks(database: Database.Database): void {
  const columns = database.pragma("table_info(readings)") as { name: string }[];
  if (!columns.some((column) => column.name === "mark")) database.exec("ALTER TABLE readings ADD COLUMN mark TEXT");
}

function markText(mark: Mark | undefined): string | null {
  return mark === undefined ? null : `${mark.quality}: ${mark.why}`;
}

function sampleOf({ atMs, value, mark }: SampleRow): Sample {
  if (mark === null) return { atMs, value };
  const [quality, why] = mark.split(": ", 2);
  return { atMs, value, mark: markSchema.parse({ quality, why }) };
}
