/** The sheets that coats rest on: every revision ever kept, by whom, and who approved it. */
import type Database from "better-sqlite3";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { type Appliers, run } from "./apply.ts";
import type { What } from "./entry-kinds.ts";
import { type By, canonical } from "./log.ts";
import { conflict, notFound } from "./record-fault.ts";

export const sheetTables = `
  CREATE TABLE sheets (
    id TEXT NOT NULL, revision INTEGER NOT NULL, sheet TEXT NOT NULL,
    who TEXT NOT NULL, role TEXT NOT NULL, kept_at_ms INTEGER NOT NULL, reason TEXT,
    approved_by TEXT, approved_at_ms INTEGER,
    PRIMARY KEY (id, revision)
  ) STRICT;
`;

export const sheetAppliers: Appliers<"sheet-kept" | "sheet-approved"> = {
  "sheet-kept"(db, { sheet, reason }, { who, role, atMs }) {
    // What the shop file names, whoever installs has approved.
    const approved = role === "program" ? [who, atMs] : [null, null];
    const values = [sheet.id, sheet.revision, canonical(sheet), who, role, atMs, reason ?? null, ...approved];
    run(db, "INSERT INTO sheets VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", ...values);
  },
  "sheet-approved"(db, { sheetId, sheetRevision }, { who, atMs }) {
    const sql = "UPDATE sheets SET approved_by = ?, approved_at_ms = ? WHERE id = ? AND revision = ?";
    run(db, sql, who, atMs, sheetId, sheetRevision);
  },
};

export interface KeptSheet {
  sheet: Sheet;
  /** Who wrote it: a person, or the program that read it from a file. */
  who: string;
  role: By["role"];
  keptAtMs: number;
  /** What a person changed, and why. */
  reason: string | null;
  /** Null while it waits for it: new coats do not take it. */
  approved: { who: string; atMs: number } | null;
}

interface SheetRow {
  sheet: string;
  who: string;
  role: By["role"];
  keptAtMs: number;
  reason: string | null;
  approvedBy: string | null;
  approvedAtMs: number | null;
}

export class Sheets {
  readonly #db: Database.Database;
  /** Every revision kept, by id and revision. */
  #kept = new Map<string, KeptSheet>();

  constructor(db: Database.Database) {
    this.#db = db;
    this.read();
  }

  /** Takes up what the table holds, after an entry. */
  read(): void {
    const rows = this.#db
      .prepare<[], SheetRow>(
        `SELECT sheet, who, role, kept_at_ms AS keptAtMs, reason, approved_by AS approvedBy, approved_at_ms AS approvedAtMs
         FROM sheets ORDER BY rowid`,
      )
      .all();
    this.#kept = new Map(
      rows.map(({ approvedBy, approvedAtMs, ...row }) => {
        const sheet = sheetSchema.parse(JSON.parse(row.sheet));
        const approved = approvedBy === null || approvedAtMs === null ? null : { who: approvedBy, atMs: approvedAtMs };
        return [keyOf(sheet.id, sheet.revision), { ...row, sheet, approved }];
      }),
    );
  }

  /**
   * What is entered of a sheet; null when it is kept already. Throws when the same revision is kept with other content, and when a person's is
   * not the one after the last.
   */
  keeping(sheet: Sheet, reason: string | undefined, { role }: By): What<"sheet-kept"> | null {
    const { id, revision } = sheet;
    const kept = this.#kept.get(keyOf(id, revision));
    if (kept !== undefined && canonical(kept.sheet) === canonical(sheet)) return null;
    const next = this.next(id);
    if (kept !== undefined) throw conflict("record-fault.sheet-changed", { id, revision, next });
    if (role !== "program" && revision !== next) throw conflict("record-fault.sheet-not-next", { id, revision, next });
    return { sheet, ...(reason === undefined ? {} : { reason }) };
  }

  /** The number that the next revision of a sheet must have; 1 for a sheet that there is not. */
  next(id: string): number {
    return Math.max(0, ...this.all().flatMap((each) => (each.sheet.id === id ? [each.sheet.revision] : []))) + 1;
  }

  /** How many coats that count rest on each revision that has any. */
  coatsLaid(): { sheetId: string; revision: number; count: number }[] {
    return this.#db
      .prepare<[], { sheetId: string; revision: number; count: number }>(
        `SELECT sheet_id AS sheetId, sheet_revision AS revision, count(*) AS count
         FROM coats WHERE withdrawn IS NULL GROUP BY sheet_id, sheet_revision`,
      )
      .all();
  }

  approving(id: string, revision: number): What<"sheet-approved"> {
    const { approved } = this.kept(id, revision);
    if (approved !== null) throw conflict("record-fault.sheet-approved", { id, revision, who: approved.who });
    return { sheetId: id, sheetRevision: revision };
  }

  /** In the order they were kept. */
  all(): KeptSheet[] {
    return [...this.#kept.values()];
  }

  kept(id: string, revision: number): KeptSheet {
    const kept = this.#kept.get(keyOf(id, revision));
    if (kept === undefined) throw notFound("record-fault.no-sheet-revision", { id, revision });
    return kept;
  }

  revision(id: string, revision: number): Sheet {
    return this.kept(id, revision).sheet;
  }

  /** The newest approved revision of each sheet, by name. */
  newest(): Sheet[] {
    const newest = new Map<string, Sheet>();
    for (const { sheet, approved } of this.#kept.values()) {
      if (approved !== null && sheet.revision >= (newest.get(sheet.id)?.revision ?? 0)) newest.set(sheet.id, sheet);
    }
    return [...newest.values()].sort((a, b) => a.name.localeCompare(b.name));
  }

  /** The newest approved revision of the sheet that an entry names; throws, naming those there are. */
  newestOf(id: string): Sheet {
    const sheets = this.newest();
    const sheet = sheets.find((each) => each.id === id);
    if (sheet !== undefined) return sheet;
    throw conflict("record-fault.no-sheet", { id, known: sheets.map((each) => each.id).join(", ") });
  }
}

const keyOf = (id: string, revision: number): string => `${id}/${revision}`;
