/** The sheets that coats rest on: every revision ever kept. */
import type Database from "better-sqlite3";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { RecordFault } from "./record-fault.ts";

export class Sheets {
  readonly #db: Database.Database;
  /** Every revision kept, by id and revision. */
  readonly #sheets: Map<string, Sheet>;

  constructor(db: Database.Database) {
    this.#db = db;
    const kept = db.prepare<[], { sheet: string }>("SELECT sheet FROM sheets").all();
    const sheets = kept.map((row) => sheetSchema.parse(JSON.parse(row.sheet)));
    this.#sheets = new Map(sheets.map((sheet) => [keyOf(sheet.id, sheet.revision), sheet]));
  }

  /** Throws when the same revision is kept already with other content. */
  keep(sheet: Sheet): void {
    const key = keyOf(sheet.id, sheet.revision);
    const kept = this.#sheets.get(key);
    if (kept === undefined) {
      this.#db
        .prepare("INSERT INTO sheets (id, revision, sheet) VALUES (?, ?, ?)")
        .run(sheet.id, sheet.revision, JSON.stringify(sheet));
      this.#sheets.set(key, sheet);
    } else if (JSON.stringify(kept) !== JSON.stringify(sheet)) {
      throw new RecordFault(
        "conflict",
        `sheet ${sheet.id} revision ${sheet.revision} is kept with other content: give the changed sheet revision ${sheet.revision + 1}`,
      );
    }
  }

  revision(id: string, revision: number): Sheet {
    const sheet = this.#sheets.get(keyOf(id, revision));
    if (sheet === undefined) throw new RecordFault("not-found", `no sheet ${id} revision ${revision}`);
    return sheet;
  }

  /** The newest revision of each sheet, by name. */
  newest(): Sheet[] {
    const newest = new Map<string, Sheet>();
    for (const sheet of this.#sheets.values()) {
      if (sheet.revision >= (newest.get(sheet.id)?.revision ?? 0)) newest.set(sheet.id, sheet);
    }
    return [...newest.values()].sort((a, b) => a.name.localeCompare(b.name));
  }

  /** The newest revision of the sheet that an entry names; throws, naming those there are. */
  newestOf(id: string): Sheet {
    const sheets = this.newest();
    const sheet = sheets.find((each) => each.id === id);
    if (sheet !== undefined) return sheet;
    throw new RecordFault("conflict", `no sheet "${id}"; there are ${sheets.map((each) => each.id).join(", ")}`);
  }
}

const keyOf = (id: string, revision: number): string => `${id}/${revision}`;
