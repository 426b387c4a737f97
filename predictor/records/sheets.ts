/** The sheets that coats rest on: every revision ever kept. */
import type Database from "better-sqlite3";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { type Appliers, run } from "./apply.ts";
import type { What } from "./entry-kinds.ts";
import { canonical } from "./log.ts";
import { conflict, notFound } from "./record-fault.ts";

export const sheetTables = `
  CREATE TABLE sheets (
    id TEXT NOT NULL, revision INTEGER NOT NULL, sheet TEXT NOT NULL, PRIMARY KEY (id, revision)
  ) STRICT;
`;

export const sheetAppliers: Appliers<"sheet-kept"> = {
  "sheet-kept"(db, { sheet }) {
    run(db, "INSERT INTO sheets VALUES (?, ?, ?)", sheet.id, sheet.revision, canonical(sheet));
  },
};

export class Sheets {
  /** Every revision kept, by id and revision. */
  readonly #sheets: Map<string, Sheet>;

  constructor(db: Database.Database) {
    const kept = db.prepare<[], { sheet: string }>("SELECT sheet FROM sheets ORDER BY rowid").all();
    const sheets = kept.map((row) => sheetSchema.parse(JSON.parse(row.sheet)));
    this.#sheets = new Map(sheets.map((sheet) => [keyOf(sheet.id, sheet.revision), sheet]));
  }

  /** What is entered of a sheet; null when it is kept already. Throws when the same revision is kept with other content. */
  keeping(sheet: Sheet): What<"sheet-kept"> | null {
    const { id, revision } = sheet;
    const kept = this.#sheets.get(keyOf(id, revision));
    if (kept === undefined) return { sheet };
    if (canonical(kept) === canonical(sheet)) return null;
    throw conflict("record-fault.sheet-changed", { id, revision, next: revision + 1 });
  }

  /** Holds at hand a sheet that was entered. */
  kept(sheet: Sheet): void {
    this.#sheets.set(keyOf(sheet.id, sheet.revision), sheet);
  }

  revision(id: string, revision: number): Sheet {
    const sheet = this.#sheets.get(keyOf(id, revision));
    if (sheet === undefined) throw notFound("record-fault.no-sheet-revision", { id, revision });
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
    throw conflict("record-fault.no-sheet", { id, known: sheets.map((each) => each.id).join(", ") });
  }
}

const keyOf = (id: string, revision: number): string => `${id}/${revision}`;
