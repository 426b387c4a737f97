/** Readings in SQLite: one table, clustered by series and instant, and one of the roll-ups that take their place. */

import Database from "better-sqlite3";
import { openOrReplaceDatabase } from "../database.ts";
import { inOrder, joined } from "./joined.ts";
import { markText } from "./mark-text.ts";
import { OnwardQueue, onwardTable } from "./onward-queue.ts";
import { type SampleRow, sampleOf } from "./sample-row.ts";
import { boundsOf, isOfUse, notBad, RollUps, rollUpTable, type SpanOfLine } from "./sqlite-roll-ups.ts";
import {
  type Bucket,
  type ReadingSource,
  type ReadingStore,
  type ReadingTarget,
  rollUpMs,
  type Series,
  type StoredReading,
  seriesKey,
} from "./store.ts";

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
  ${rollUpTable}`;

/** A series as it is kept. */
interface Line extends Series {
  id: number;
  /** End of its newest roll-up; null where it has none. */
  rolledUpToMs: number | null;
}

export interface SqliteStore extends ReadingStore, ReadingTarget {
  /** What was done about a damaged file; null where it was sound. */
  damage: string | null;
}

/**
 * Opens (and makes, when absent) the store in a file. A damaged file is moved aside, as `damage` says then: coats whose
 * readings were in it have gaps, but the shop goes on. Throws as openDatabase does when the file can't be used for another reason.
 */
export function openSqliteStore(file: string): SqliteStore {
  const { database, damage } = opened(file);
  return { damage, ...storeIn(database, null) };
}

/** The same, with a queue into which each reading goes that is stored from now on. */
export function openSqliteStoreWithQueue(file: string): { store: SqliteStore; queue: OnwardQueue } {
  const { database, damage } = opened(file);
  database.exec(onwardTable);
  const queue = new OnwardQueue(database);
  return { store: { damage, ...storeIn(database, queue) }, queue };
}

function opened(file: string) {
  const { database, damage } = openOrReplaceDatabase(file, schema, Date.now());
  addMarks(database);
  return { database, damage };
}

/** Opens a store to read from, while another process may write to it. Throws where the file is of an earlier version. */
export function openSqliteSource(file: string): ReadingSource {
  const database = new Database(file, { readonly: true, fileMustExist: true });
  try {
    if (database.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'roll_ups'").get() !== undefined) {
      return storeIn(database, null);
    }
    throw new Error(`${file} is of an earlier version: start Coatclock with it once`);
  } catch (error) {
    database.close();
    throw error;
  }
}

function storeIn(database: Database.Database, queue: OnwardQueue | null): ReadingStore & ReadingTarget {
  const insertSeries = database.prepare<[string, string, string]>(
    "INSERT INTO series (collector, sensor, quantity) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
  );
  const selectSeries = database
    .prepare<[string, string, string], number>(
      "SELECT id FROM series WHERE collector = ? AND sensor = ? AND quantity = ?",
    )
    .pluck();
  const listLines = database.prepare<[], Line>(
    `SELECT id, collector, sensor, quantity,
            (SELECT max(start_ms) + ${rollUpMs} FROM roll_ups WHERE series = id) AS rolledUpToMs
     FROM series ORDER BY id`,
  );
  const insert = database.prepare<[number, number, number, string | null]>(
    "INSERT INTO readings (series, at_ms, value, mark) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
  );
  const select = "SELECT at_ms AS atMs, value, mark FROM readings";
  const selectRange = database.prepare<SpanOfLine, SampleRow>(
    `${select} WHERE series = @series AND at_ms >= @fromMs AND at_ms < @toMs ORDER BY at_ms`,
  );
  const selectLatest = database.prepare<[number, number], SampleRow>(
    `${select} WHERE series = ? AND at_ms <= ? AND ${notBad} ORDER BY at_ms DESC LIMIT 1`,
  );
  const selectEarliest = database.prepare<[number, number], SampleRow>(
    `${select} WHERE series = ? AND at_ms >= ? ORDER BY at_ms LIMIT 1`,
  );
  const selectThin = database.prepare<SpanOfLine & { bucketMs: number; lowest: number; highest: number }, Bucket>(
    // Numbers are bound as REAL: without the casts the division would be one of fractions.
    `WITH span AS (SELECT CAST(@fromMs AS INTEGER) AS from_ms, CAST(@bucketMs AS INTEGER) AS bucket_ms)
     SELECT from_ms + (at_ms - from_ms) / bucket_ms * bucket_ms AS startMs,
            count(*) AS count, min(value) AS min, max(value) AS max, avg(value) AS mean
     FROM readings, span
     WHERE series = @series AND at_ms >= from_ms AND at_ms < @toMs AND ${isOfUse}
     GROUP BY (at_ms - from_ms) / bucket_ms`,
  );
  const rollUps = new RollUps(database);

  // From the first reading of a bucket straight on to the first one after it.
  const firstFrom = (fromMs: string) => `(
    SELECT at_ms FROM readings WHERE series = @series AND at_ms >= ${fromMs} AND at_ms < @toMs
      AND ${isOfUse}
    ORDER BY at_ms LIMIT 1)`;
  const selectBucketCount = database.prepare<
    SpanOfLine & { bucketMs: number; lowest: number; highest: number },
    { count: number }
  >(
    `WITH RECURSIVE span AS (SELECT CAST(@fromMs AS INTEGER) AS from_ms, CAST(@bucketMs AS INTEGER) AS bucket_ms),
       found AS (
         SELECT ${firstFrom("from_ms")} AS at_ms FROM span
         UNION ALL
         SELECT ${firstFrom("from_ms + ((found.at_ms - from_ms) / bucket_ms + 1) * bucket_ms")}
         FROM found, span WHERE found.at_ms IS NOT NULL)
     SELECT count(at_ms) AS count FROM found`,
  );

  const lines = new Map<string, Line>();
  const readLines = () => {
    lines.clear();
    for (const line of listLines.all()) lines.set(seriesKey(line), line);
  };
  readLines();
  const lineOf = ({ collector, sensor, quantity }: Series): Line => {
    const key = seriesKey({ collector, sensor, quantity });
    let line = lines.get(key);
    if (line === undefined) {
      // Another process may have made it meanwhile.
      insertSeries.run(collector, sensor, quantity);
      const id = Number(selectSeries.get(collector, sensor, quantity));
      line = { collector, sensor, quantity, id, rolledUpToMs: null };
      lines.set(key, line);
    }
    return line;
  };
  const appendOne = (reading: StoredReading): boolean => {
    const { id, rolledUpToMs } = lineOf(reading);
    const { atMs, value, mark } = reading;
    if (rolledUpToMs !== null && atMs < rolledUpToMs && rollUps.has(id, atMs)) return false;
    const isNew = insert.run(id, atMs, value, markText(mark)).changes === 1;
    if (isNew) queue?.add(id, atMs, value, markText(mark));
    return isNew;
  };
  const appendAll = database.transaction((readings: readonly StoredReading[]) => {
    const cleared = queue?.clear();
    return { fresh: readings.filter(appendOne), cleared };
  });
  const rollUpAPiece = database.transaction((beforeMs: number): number => {
    for (const { id, quantity } of lines.values()) {
      const taken = rollUps.make(id, quantity, beforeMs);
      if (taken > 0) return taken;
    }
    return 0;
  });
  /** Readings and roll-ups of one moment, though another process may roll up meanwhile. */
  const read = <T>(series: Series, ofLine: (line: Line) => T): T | undefined => {
    if (!lines.has(seriesKey(series))) readLines();
    const line = lines.get(seriesKey(series));
    return line && database.transaction(ofLine)(line);
  };

  return {
    async append(readings) {
      try {
        const { fresh, cleared } = appendAll.immediate(readings);
        if (cleared !== undefined) queue?.committed(fresh.length, cleared);
        return fresh;
      } catch (error) {
        // A rolled-back transaction takes its new series with it.
        readLines();
        throw error;
      }
    },
    async range(series, fromMs, toMs) {
      const samples = read(series, ({ id }) => {
        const span = { series: id, fromMs, toMs };
        const rolled = rollUps.range(span);
        const kept = selectRange.all(span).map(sampleOf);
        return rolled.length === 0 ? kept : inOrder(kept, rolled);
      });
      return samples ?? [];
    },
    async latest(series, atOrBeforeMs = Number.MAX_SAFE_INTEGER) {
      return read(series, ({ id }) => {
        const kept = selectLatest.all(id, atOrBeforeMs).map(sampleOf);
        return inOrder(kept, rollUps.latest(id, atOrBeforeMs)).at(-1);
      });
    },
    async earliest(series, atOrAfterMs = Number.MIN_SAFE_INTEGER) {
      return read(series, ({ id }) => {
        const kept = selectEarliest.all(id, atOrAfterMs).map(sampleOf);
        return inOrder(kept, rollUps.earliest(id, atOrAfterMs))[0];
      });
    },
    async thin(series, span) {
      const buckets = read(series, ({ id, quantity }) => {
        const asked = { series: id, ...span };
        const rolled = rollUps.thin(asked);
        const kept = selectThin.all({ ...asked, ...boundsOf(quantity) });
        return rolled.length === 0 ? kept : joined(kept, rolled);
      });
      return buckets ?? [];
    },
    async rollUp(beforeMs) {
      const taken = rollUpAPiece.immediate(beforeMs);
      readLines();
      return taken;
    },
    async takeRollUps(series, buckets) {
      database.transaction(() => {
        const { id } = lineOf(series);
        for (const bucket of buckets) rollUps.put(id, bucket);
      })();
      readLines();
    },
    async countBuckets(series, span) {
      const count = read(series, ({ id, quantity, rolledUpToMs }) => {
        // Roll-ups are few: there is nothing to skip.
        if (rolledUpToMs !== null && span.fromMs < rolledUpToMs) return null;
        return selectBucketCount.get({ series: id, ...span, ...boundsOf(quantity) })?.count ?? 0;
      });
      return count === null ? (await this.thin(series, span)).length : (count ?? 0);
    },
    async series() {
      return listLines.all().map(({ collector, sensor, quantity }) => ({ collector, sensor, quantity }));
    },
    async close() {
      queue?.close();
      database.close();
    },
  };
}

/** A store that was made before readings had marks gets the column. */
function addMarks(database: Database.Database): void {
  const columns = database.pragma("table_info(readings)") as { name: string }[];
  if (!columns.some((column) => column.name === "mark")) database.exec("ALTER TABLE readings ADD COLUMN mark TEXT");
}
