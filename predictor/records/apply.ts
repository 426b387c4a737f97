/** How an entry is applied to the tables that show what is recorded now. */
import type Database from "better-sqlite3";
import type { Kind, What } from "./entry-kinds.ts";
import type { By, LogEntry } from "./log.ts";

/** Who made an entry, and when. */
export interface Made {
  who: string;
  role: By["role"];
  atMs: number;
}

/** One for each kind of entry: writes to the tables, and reads nothing but the entry. */
export type Appliers<K extends Kind> = { [P in K]: (db: Database.Database, what: What<P>, made: Made) => void };

/** Of what was recorded before there was a log, as that was kept. */
export function madeOf({ at, who, role, what }: LogEntry): Made {
  return { who: what.before?.who ?? who, role, atMs: what.before?.atMs ?? Date.parse(at) };
}

type Bound = string | number | null;
const prepared = new WeakMap<Database.Database, Map<string, Database.Statement<Bound[]>>>();

/** Runs a statement; it is prepared once for each database. */
export function run(db: Database.Database, sql: string, ...values: Bound[]): void {
  const statements = prepared.get(db) ?? new Map<string, Database.Statement<Bound[]>>();
  prepared.set(db, statements);
  const statement = statements.get(sql) ?? db.prepare<Bound[]>(sql);
  statements.set(sql, statement);
  statement.run(...values);
}
