import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, expect, it } from "vitest";
import { storeSuite } from "../../tests/store-suite.ts";
import { openSqliteStore } from "./sqlite.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-store-"));
const file = join(folder, "readings.db");
afterAll(() => rmSync(folder, { recursive: true, force: true }));

storeSuite({
  open: async () => openSqliteStore(file),
  wipe: async () => {
    for (const suffix of ["", "-wal", "-shm"]) rmSync(file + suffix, { force: true });
  },
});

it("writes through to the disk before a commit returns", async () => {
  const store = openSqliteStore(join(folder, "durable.db"));
  await store.append([{ collector: "a", sensor: "b", quantity: "air-temperature", atMs: 1, value: 2 }]);
  // A second connection sees the commit while the first is open: it is in the file, not in the process.
  const other = new Database(join(folder, "durable.db"), { readonly: true });
  expect(other.pragma("journal_mode", { simple: true })).toBe("wal");
  expect(other.prepare("SELECT count(*) AS n FROM readings").get()).toEqual({ n: 1 });
  other.close();
  await store.close();
});

it("keeps none of a batch when one of it cannot be stored, and goes on", async () => {
  const store = openSqliteStore(join(folder, "batch.db"));
  const reading = { collector: "a", sensor: "b", quantity: "air-temperature", atMs: 1, value: 2 } as const;
  await expect(store.append([reading, { ...reading, atMs: 2.5 }])).rejects.toThrow();
  expect(await store.latest(reading)).toBeUndefined();
  expect(await store.append([reading])).toHaveLength(1);
  await store.close();
});

it("takes up a store that was made before readings had marks", async () => {
  const old = new Database(join(folder, "old.db"));
  old.exec(`
    CREATE TABLE series (id INTEGER PRIMARY KEY, collector TEXT NOT NULL, sensor TEXT NOT NULL, quantity TEXT NOT NULL,
      UNIQUE (collector, sensor, quantity)) STRICT;
    CREATE TABLE readings (series INTEGER NOT NULL, at_ms INTEGER NOT NULL, value REAL NOT NULL,
      PRIMARY KEY (series, at_ms)) STRICT, WITHOUT ROWID;
    INSERT INTO series VALUES (1, 'a', 'b', 'air-temperature');
    INSERT INTO readings VALUES (1, 1000, 20);`);
  old.close();
  const store = openSqliteStore(join(folder, "old.db"));
  const reading = { collector: "a", sensor: "b", quantity: "air-temperature", atMs: 2000, value: 90 } as const;
  await store.append([{ ...reading, mark: { quality: "bad", why: "spike" } }]);
  expect(await store.range(reading, 0, 3000)).toEqual([
    { atMs: 1000, value: 20 },
    { atMs: 2000, value: 90, mark: { quality: "bad", why: "spike" } },
  ]);
  await store.close();
});
