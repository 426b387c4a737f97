/** Paint that was mixed and hardens in its pot: its pot life runs from the mixing until someone empties it. */
import type Database from "better-sqlite3";
import { type Appliers, run } from "./apply.ts";
import type { Batch, What } from "./entry-kinds.ts";
import { newId } from "./new-id.ts";
import { conflict, notFound } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

export interface NewMix {
  sheetId: string;
  /** Where the pot stands. */
  place: string;
  mixedAtMs: number;
  /** Ready to spray; null where nobody measured. */
  litres: number | null;
  batches: readonly Batch[];
}

export interface Mix extends NewMix {
  id: string;
  sheetRevision: number;
  batches: Batch[];
  who: string;
  /** Null while there is paint in it. */
  emptiedAtMs: number | null;
}

export const mixTables = `
  CREATE TABLE mixes (
    id TEXT PRIMARY KEY, sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL, place TEXT NOT NULL,
    mixed_at_ms INTEGER NOT NULL, litres REAL, batches TEXT NOT NULL, who TEXT NOT NULL, emptied_at_ms INTEGER,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
`;

export const mixAppliers: Appliers<"mixed" | "mix-emptied"> = {
  mixed(db, { id, sheetId, sheetRevision, place, mixedAtMs, litres, batches }, { who }) {
    const values = [id, sheetId, sheetRevision, place, mixedAtMs, litres, JSON.stringify(batches), who];
    run(db, "INSERT INTO mixes VALUES (?, ?, ?, ?, ?, ?, ?, ?, NULL)", ...values);
  },
  "mix-emptied"(db, { id, atMs }) {
    run(db, "UPDATE mixes SET emptied_at_ms = ? WHERE id = ?", atMs, id);
  },
};

export class Mixes {
  readonly #db: Database.Database;
  readonly #sheets: Sheets;

  constructor(db: Database.Database, sheets: Sheets) {
    this.#db = db;
    this.#sheets = sheets;
  }

  mixing({ sheetId, place, mixedAtMs, litres, batches }: NewMix): What<"mixed"> {
    const sheet = this.#sheets.newestOf(sheetId);
    if (sheet.potLifeMinutesAt20C === undefined) throw conflict("record-fault.no-pot-life", { id: sheet.id });
    return { id: newId(), sheetId, sheetRevision: sheet.revision, place, mixedAtMs, litres, batches: [...batches] };
  }

  emptying(id: string, atMs: number): What<"mix-emptied"> {
    const mix = this.mix(id);
    if (mix.emptiedAtMs !== null) {
      throw conflict("record-fault.emptied-already", { at: { dateMs: mix.emptiedAtMs } });
    }
    if (!(atMs >= mix.mixedAtMs))
      throw conflict("record-fault.emptied-before-mixed", { at: { dateMs: mix.mixedAtMs } });
    return { id, atMs };
  }

  mix(id: string): Mix {
    const mix = this.#select("WHERE id = ?", id)[0];
    if (mix === undefined) throw notFound("record-fault.no-mix", { id });
    return mix;
  }

  /** Mixes not yet emptied, oldest first. */
  open(): Mix[] {
    return this.#select("WHERE emptied_at_ms IS NULL");
  }

  #select(where: string, ...values: string[]): Mix[] {
    return this.#db
      .prepare<string[], Omit<Mix, "batches"> & { batches: string }>(
        `SELECT id, sheet_id AS sheetId, sheet_revision AS sheetRevision, place, mixed_at_ms AS mixedAtMs, litres, batches,
                who, emptied_at_ms AS emptiedAtMs
         FROM mixes ${where} ORDER BY mixed_at_ms, rowid`,
      )
      .all(...values)
      .map((row) => ({ ...row, batches: JSON.parse(row.batches) as Batch[] }));
  }
}
