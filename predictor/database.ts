/** Opens a SQLite file so that a commit survives a power cut: WAL, synchronous FULL, foreign keys enforced. */
import Database from "better-sqlite3";

/** Makes the file, with the tables of `schema`, when it is absent. Throws an Error that names the file and the remedy when it can't be used. */
export function openDatabase(file: string, schema: string): Database.Database {
  let database: Database.Database | undefined;
  try {
    database = new Database(file);
    database.pragma("journal_mode = WAL");
    database.pragma("synchronous = FULL");
    database.pragma("foreign_keys = ON");
    database.exec(schema);
    return database;
  } catch (error) {
    database?.close();
    throw new Error(
      `${file} can't be used as a database: ${(error as Error).message}. Check the disk and the file's permissions; a damaged file can be moved aside, ` +
        "then Coatclock starts with an empty one.",
    );
  }
}
