import { mkdtempSync, readdirSync, readFileSync, rmSync, truncateSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, it } from "vitest";
import { openDatabase, openOrReplaceDatabase } from "./database.ts";

const schema = "CREATE TABLE IF NOT EXISTS kept (what TEXT) STRICT";
const nowMs = Date.parse("2026-03-02T08:00:00Z");
let folder: string;
let file: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-database-"));
  file = join(folder, "records.db");
});
afterEach(() => rmSync(folder, { recursive: true }));

/** As a power cut can leave it: the file itself emptied, what was committed last still in its log. */
function hollow(): void {
  const database = openDatabase(file, schema);
  database.exec("INSERT INTO kept VALUES ('a coat')");
  const log = readFileSync(`${file}-wal`);
  database.close();
  writeFileSync(`${file}-wal`, log);
  truncateSync(file, 0);
}

it.each([
  ["that is none", () => writeFileSync(file, "no database at all, but a long enough text to look at twice".repeat(20))],
  ["that is emptied while its log is not", hollow],
])("refuses a file %s, names it, and leaves it as it is", (_, damage) => {
  damage();
  const before = readdirSync(folder).map((name) => readFileSync(join(folder, name)));
  expect(() => openDatabase(file, schema)).toThrow(`${file} can't be used as a database`);
  expect(readdirSync(folder).map((name) => readFileSync(join(folder, name)))).toEqual(before);
});

it("moves such a file aside with its log where a new one is of more use, and says so", () => {
  hollow();
  const log = readFileSync(`${file}-wal`);
  const { database, damage } = openOrReplaceDatabase(file, schema, nowMs);
  expect(database.prepare("SELECT count(*) FROM kept").pluck().get()).toBe(0);
  database.close();
  const aside = `${file}.damaged-2026-03-02T08-00-00.000Z`;
  expect(damage).toContain(aside);
  expect(readFileSync(`${aside}-wal`)).toEqual(log);
});

it("opens a sound file, and an empty one that has no log, as what they are", () => {
  openDatabase(file, schema).exec("INSERT INTO kept VALUES ('a coat')");
  const { database, damage } = openOrReplaceDatabase(file, schema, nowMs);
  expect(damage).toBeNull();
  expect(database.prepare("SELECT what FROM kept").pluck().all()).toEqual(["a coat"]);
  database.close();
  const fresh = join(folder, "fresh.db");
  writeFileSync(fresh, "");
  openDatabase(fresh, schema).close();
  expect(new Database(fresh).pragma("user_version", { simple: true })).toBe(0);
});
