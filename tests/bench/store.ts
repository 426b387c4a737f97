/** The store of readings against bare SQLite on the same kind of table: rows a second, bytes a row, and a thinned week. */
import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { type Quantity, quantityNames } from "../../collector/readings.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const batch = 100;
const rows = 120_000;
const runs = 5;
const startMs = Date.parse("2026-03-02T00:00:00Z");
const weekRows = 60_480;

/** Twelve lines of readings, one a second each, as a shop would send them. */
function readingAt(index: number): StoredReading {
  const series = index % 12;
  return {
    collector: "bench",
    sensor: `sensor-${Math.floor(series / 4)}`,
    quantity: quantityNames[series % 4] as Quantity,
    atMs: startMs + Math.floor(index / 12) * 1000,
    value: 20 + Math.sin(index / 1000),
  };
}

export async function storeBench(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-bench-"));
  try {
    const bare: number[] = [];
    const ours: number[] = [];
    let bareBytes = 0;
    let ourBytes = 0;
    // Taken in turns, so that a slow moment of the disk meets both.
    for (let run = 0; run < runs; run++) {
      const bareFile = join(folder, `bare-${run}.db`);
      const ourFile = join(folder, `ours-${run}.db`);
      bare.push(bareInsert(bareFile));
      ours.push(await storeInsert(ourFile));
      bareBytes = statSync(bareFile).size / rows;
      ourBytes = statSync(ourFile).size / rows;
    }
    const [bareThin, ourThin] = await thinnedWeek(join(folder, "week.db"));
    return [
      benchRow(
        {
          name: "store: rows a second, 100 a transaction",
          floor: "bare SQLite, WAL, FULL, same batch",
          floorValue: median(bare),
          value: median(ours),
          unit: "rows/s",
        },
        { least: 0.7 },
      ),
      {
        name: "store: bytes a row on disk",
        floor: "the same rows in a bare table",
        floorValue: bareBytes,
        value: ourBytes,
        unit: "bytes",
        ratio: ourBytes / bareBytes,
        budget: "≤ 26 bytes",
        within: ourBytes <= 26,
      },
      benchRow(
        {
          name: "store: a week of one line thinned to 5 minutes",
          floor: "the same in bare SQL",
          floorValue: bareThin,
          value: ourThin,
          unit: "ms",
        },
        { most: 2 },
      ),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function bareInsert(file: string): number {
  const database = new Database(file);
  database.pragma("journal_mode = WAL");
  database.pragma("synchronous = FULL");
  database.exec(
    "CREATE TABLE r (s INTEGER NOT NULL, t INTEGER NOT NULL, v REAL NOT NULL, PRIMARY KEY (s, t)) WITHOUT ROWID",
  );
  const insert = database.prepare("INSERT INTO r VALUES (?, ?, ?) ON CONFLICT DO NOTHING");
  const insertAll = database.transaction((from: number) => {
    for (let index = from; index < from + batch; index++) {
      insert.run(index % 12, startMs + Math.floor(index / 12) * 1000, 20 + Math.sin(index / 1000));
    }
  });
  const startedMs = performance.now();
  for (let index = 0; index < rows; index += batch) insertAll(index);
  const rate = rows / ((performance.now() - startedMs) / 1000);
  database.close();
  return rate;
}

async function storeInsert(file: string): Promise<number> {
  const store = openSqliteStore(file);
  const readings = Array.from({ length: rows }, (_, index) => readingAt(index));
  const startedMs = performance.now();
  for (let index = 0; index < rows; index += batch) await store.append(readings.slice(index, index + batch));
  const rate = rows / ((performance.now() - startedMs) / 1000);
  await store.close();
  return rate;
}

async function thinnedWeek(file: string): Promise<[bareMs: number, oursMs: number]> {
  const series = { collector: "bench", sensor: "week", quantity: "air-temperature" } as const;
  const store = openSqliteStore(file);
  const toMs = startMs + weekRows * 10_000;
  const week = Array.from({ length: weekRows }, (_, n) => ({
    ...series,
    atMs: startMs + n * 10_000,
    value: 20 + Math.sin(n / 1000),
  }));
  await store.append(week);
  const database = new Database(file, { readonly: true });
  const sql = database.prepare(
    "SELECT at_ms / 300000 AS bucket, min(value), max(value), avg(value) FROM readings WHERE series = 1 AND at_ms >= ? AND at_ms < ? GROUP BY bucket",
  );
  const bare: number[] = [];
  const ours: number[] = [];
  const span = { fromMs: startMs, toMs, bucketMs: 300_000 };
  for (let run = 0; run < 21; run++) {
    const startedMs = performance.now();
    sql.all(startMs, toMs);
    const betweenMs = performance.now();
    await store.thin(series, span);
    bare.push(betweenMs - startedMs);
    ours.push(performance.now() - betweenMs);
  }
  database.close();
  await store.close();
  return [median(bare), median(ours)];
}
