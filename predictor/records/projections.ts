/** The tables that show what is recorded now: each is what the entries of the log say, applied one after another. */
import type Database from "better-sqlite3";
import { type Appliers, type Made, madeOf } from "./apply.ts";
import { carAppliers, carTables } from "./cars.ts";
import { checkAppliers, checkTables } from "./checks.ts";
import { coatAppliers, coatTables } from "./coats.ts";
import type { Kind } from "./entry-kinds.ts";
import { instrumentAppliers, instrumentTables } from "./instruments.ts";
import type { LogEntry } from "./log.ts";
import { mixAppliers, mixTables } from "./mixes.ts";
import { personAppliers } from "./people-kept.ts";
import { qualityAppliers, qualityTables } from "./quality.ts";
import { sheetAppliers, sheetTables } from "./sheets.ts";
import { warningAppliers, warningTables } from "./warnings-kept.ts";

/** To be raised with every change of these tables: they are then made anew from the log on opening. */
const version = 4;
const sql =
  sheetTables + carTables + coatTables + qualityTables + checkTables + mixTables + warningTables + instrumentTables;

/** In the order in which they refer to each other. */
export const projectionTables: readonly string[] = [...sql.matchAll(/CREATE TABLE (\w+)/g)].map(([, name]) =>
  String(name),
);

const appliers: Appliers<Kind> = {
  ...sheetAppliers,
  ...carAppliers,
  ...coatAppliers,
  ...qualityAppliers,
  ...checkAppliers,
  ...mixAppliers,
  ...warningAppliers,
  ...personAppliers,
  ...instrumentAppliers,
};

export function project(db: Database.Database, entry: LogEntry): void {
  const apply = appliers[entry.kind] as (db: Database.Database, what: LogEntry["what"], made: Made) => void;
  apply(db, entry.what, madeOf(entry));
}

export function makeProjections(db: Database.Database): void {
  db.exec(sql);
  db.pragma(`user_version = ${version}`);
}

/** Makes the tables anew from the entries, where there are some already. Part of the caller's transaction. */
export function remakeProjections(db: Database.Database, entries: Iterable<LogEntry>): void {
  for (const table of projectionTables.toReversed()) db.exec(`DROP TABLE IF EXISTS ${table}`);
  makeProjections(db);
  for (const entry of entries) project(db, entry);
}

export function areProjectionsOfThisVersion(db: Database.Database): boolean {
  return db.pragma("user_version", { simple: true }) === version;
}
