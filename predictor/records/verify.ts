/** Whether the records are what was entered: the chain of the log is checked, and the tables are compared with what the log says. */
import { existsSync } from "node:fs";
import Database from "better-sqlite3";
import { openDatabase } from "../database.ts";
import { type ChainLink, chainRows, checkChain } from "./chain.ts";
import { Log, logTables } from "./log.ts";
import {
  areProjectionsOfThisVersion,
  makeProjections,
  project,
  projectionTables,
  remakeProjections,
} from "./projections.ts";

/** An entry as another machine has witnessed it. */
export interface Witnessed {
  seq: number;
  hash: string;
}

export interface Verified {
  /** In the log. */
  entries: number;
  /** The last entry, with the hash that its text has; null in an empty log. */
  head: Witnessed | null;
  /** Sentences that name the entry, or the table and row; empty when all is well. */
  faults: string[];
}

/** Rows of a table that are told of where they differ. */
const rowsTold = 5;

/** Changes nothing, and may be asked while the program runs. A file that can't be read is a fault, too. */
export function verify(file: string, { witnessed }: { witnessed?: Witnessed | undefined } = {}): Verified {
  if (!existsSync(file)) return { entries: 0, head: null, faults: [`there is no file ${file}`] };
  const verified: Verified = { entries: 0, head: null, faults: [] };
  let db: Database.Database | null = null;
  try {
    db = new Database(file, { readonly: true });
    const source = db;
    // One transaction: what is entered meanwhile is seen neither in the log nor in the tables.
    source.transaction(() => verifyIn(source, witnessed, verified))();
  } catch (error) {
    verified.faults.push(`${file} can't be read: ${(error as Error).message}`);
  } finally {
    db?.close();
  }
  return verified;
}

/**
 * Makes the tables anew from the log, after a copy of the file was laid beside it, whose path it returns. Throws where the
 * chain is not sound, since then nobody can say what was entered.
 */
export function rebuild(file: string, nowMs: number): { entries: number; aside: string } {
  if (!existsSync(file)) throw new Error(`there is no file ${file}`);
  const db = openDatabase(file, "");
  try {
    const fault = [...checkChain(chainRows(db))].flatMap((link) => link.faults)[0];
    if (fault !== undefined) throw new Error(`the tables are left as they are, since the log is not sound: ${fault}`);
    const aside = `${file}.before-rebuild-${new Date(nowMs).toISOString().replaceAll(":", "-")}`;
    db.prepare("VACUUM INTO ?").run(aside);
    const log = new Log(db);
    db.transaction(() => remakeProjections(db, log.entries())).immediate();
    return { entries: log.head()?.seq ?? 0, aside };
  } finally {
    db.close();
  }
}

function verifyIn(db: Database.Database, witnessed: Witnessed | undefined, verified: Verified): void {
  const { faults } = verified;
  if (db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'log'").get() === undefined) {
    faults.push("there is no log in this file; one of an earlier version gets it when Coatclock is started");
    return;
  }
  faults.push(...guardFaults(db));
  const anew = new Database(":memory:");
  try {
    anew.pragma("foreign_keys = ON");
    makeProjections(anew);
    let isProjected = true;
    let witnessedHash: string | undefined;
    for (const link of checkChain(chainRows(db))) {
      verified.entries += 1;
      verified.head = { seq: link.seq, hash: link.hash };
      faults.push(...link.faults);
      if (link.seq === witnessed?.seq) witnessedHash = link.hash;
      isProjected &&= isApplied(anew, link, faults);
    }
    if (witnessed !== undefined) faults.push(...witnessFaults(witnessed, witnessedHash, verified.head));
    if (!areProjectionsOfThisVersion(db)) {
      faults.push("the tables are of another version; they are made anew from the log when Coatclock is started");
    } else if (isProjected) {
      faults.push(...projectionTables.flatMap((table) => tableFaults(table, db, anew)));
    }
  } finally {
    anew.close();
  }
  const checked = db.pragma("integrity_check(5)") as { integrity_check: string }[];
  for (const { integrity_check: found } of checked) if (found !== "ok") faults.push(`SQLite finds: ${found}`);
}

function isApplied(anew: Database.Database, { seq, entry }: ChainLink, faults: string[]): boolean {
  if (entry === null) return false;
  try {
    project(anew, entry);
    return true;
  } catch (error) {
    faults.push(`entry ${seq}: it does not fit what was entered before it (${(error as Error).message})`);
    return false;
  }
}

/** The triggers that keep the log append-only, and its own table, as they were made. */
function guardFaults(db: Database.Database): string[] {
  const made = new Database(":memory:");
  try {
    made.exec(logTables);
    const parts = "SELECT name, sql FROM sqlite_schema WHERE tbl_name = 'log' AND sql IS NOT NULL";
    const here = new Map(
      db
        .prepare<[], { name: string; sql: string }>(parts)
        .all()
        .map(({ name, sql }) => [name, sql]),
    );
    return made
      .prepare<[], { name: string; sql: string }>(parts)
      .all()
      .filter(({ name, sql }) => here.get(name) !== sql)
      .map(({ name }) => `the log's own ${name} is missing or not as it was made`);
  } finally {
    made.close();
  }
}

function witnessFaults({ seq, hash }: Witnessed, found: string | undefined, head: Witnessed | null): string[] {
  if (found === undefined) return [`entry ${seq} was witnessed and is not there: the log ends at ${head?.seq ?? 0}`];
  return found === hash
    ? []
    : [`entry ${seq} was witnessed with the hash ${hash}, and has ${found}: the log was written anew`];
}

function tableFaults(table: string, db: Database.Database, anew: Database.Database): string[] {
  const rowsIn = (from: Database.Database) =>
    from
      .prepare(`SELECT * FROM ${table} ORDER BY rowid`)
      .all()
      .map((row) => JSON.stringify(row));
  const [here, byLog] = [rowsIn(db), rowsIn(anew)];
  const faults = [
    ...without(here, byLog).map((row) => `table ${table} holds ${row}; the log does not say so`),
    ...without(byLog, here).map((row) => `table ${table} lacks ${row}, which the log says`),
  ];
  if (faults.length === 0 && here.join() !== byLog.join())
    return [`table ${table} has its rows in another order than the log`];
  const more = faults.length - rowsTold;
  return more > 0 ? [...faults.slice(0, rowsTold), `table ${table}: ${more} more rows differ`] : faults;
}

/** What is in a list more often than in another. */
function without(list: readonly string[], other: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const row of other) counts.set(row, (counts.get(row) ?? 0) + 1);
  return list.filter((row) => {
    const count = counts.get(row) ?? 0;
    counts.set(row, count - 1);
    return count <= 0;
  });
}
