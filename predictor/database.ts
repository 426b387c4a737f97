/** Opens a SQLite file so that a commit survives a power cut: WAL, synchronous FULL, foreign keys enforced. */
import { renameSync, statSync } from "node:fs";
import Database from "better-sqlite3";

/** The tables of a file: SQL that makes those that are absent, or what brings them to this version. */
type Schema = string | ((database: Database.Database) => void);

/** Makes the file, with the tables of `schema`, when it is absent. Throws an Error that names the file and the remedy when it can't be used. */
export function openDatabase(file: string, schema: Schema): Database.Database {
  try {
    return openAnyhow(file, schema);
  } catch (error) {
    throw new Error(
      `${file} can't be used as a database: ${(error as Error).message}. Check the disk and the file's permissions; a damaged file can be moved aside, ` +
        "then Coatclock starts with an empty one.",
    );
  }
}

/**
 * The same, but a damaged file is moved aside to `<file>.damaged-<instant>` and a new one begun: for what can be spared sooner
 * than the start of the program. `damage` says in words what was done; null when the file was sound.
 */
export function openOrReplaceDatabase(
  file: string,
  schema: Schema,
  nowMs: number,
): { database: Database.Database; damage: string | null } {
  try {
    return { database: openAnyhow(file, schema), damage: null };
  } catch (error) {
    if (!isDamage(error)) return { database: openDatabase(file, schema), damage: null };
    const aside = `${file}.damaged-${new Date(nowMs).toISOString().replaceAll(":", "-")}`;
    for (const suffix of ["", "-wal", "-shm"]) {
      try {
        renameSync(file + suffix, aside + suffix);
      } catch (renaming) {
        if ((renaming as NodeJS.ErrnoException).code !== "ENOENT") throw renaming;
      }
    }
    const damage = `${file} was damaged (${(error as Error).message}): it is kept as ${aside}, and a new one was begun`;
    return { database: openDatabase(file, schema), damage };
  }
}

/** An emptied file whose write-ahead log is not: SQLite would take it for a new one, and delete the log. */
class HollowFile extends Error {}

function openAnyhow(file: string, schema: Schema): Database.Database {
  const bytesOf = (path: string) => statSync(path, { throwIfNoEntry: false })?.size ?? 0;
  if (bytesOf(file) === 0 && bytesOf(`${file}-wal`) > 0) {
    throw new HollowFile("it is empty, though its log is not");
  }
  const database = new Database(file);
  try {
    database.pragma("journal_mode = WAL");
    database.pragma("synchronous = FULL");
    database.pragma("foreign_keys = ON");
    if (typeof schema === "string") database.exec(schema);
    else schema(database);
    return database;
  } catch (error) {
    database.close();
    throw error;
  }
}

function isDamage(error: unknown): boolean {
  const code = (error as { code?: unknown }).code;
  return error instanceof HollowFile || code === "SQLITE_NOTADB" || code === "SQLITE_CORRUPT";
}
