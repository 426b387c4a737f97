/** Brings a file of records to this version before it is used. */
import type Database from "better-sqlite3";
import type { ClockState } from "../../collector/readings.ts";
import { isFromBeforeLog, takeFromBeforeLog } from "./before-log.ts";
import { type By, Log, type LogEntry, logTables } from "./log.ts";
import { areProjectionsOfThisVersion, project, remakeProjections } from "./projections.ts";

const beforeLog: By = { who: "records before the log", role: "program" };

/** Makes the tables in an empty file, takes over one from before there was a log, and makes tables of another version anew. All or nothing. */
export function prepareRecords(db: Database.Database, made: { atMs: number; clock: ClockState }): void {
  db.transaction(() => {
    const taken = isFromBeforeLog(db) ? takeFromBeforeLog(db) : [];
    db.exec(logTables);
    const log = new Log(db);
    if (!areProjectionsOfThisVersion(db)) remakeProjections(db, log.entries());
    for (const { kind, what } of taken) project(db, log.append(kind, what, beforeLog, made) as LogEntry);
  }).immediate();
}
