/** Paint that was mixed and hardens in its pot: its pot life runs from the mixing until someone empties it. */
import type Database from "better-sqlite3";
import { newId } from "./new-id.ts";
import { iso, RecordFault } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

export interface NewMix {
  sheetId: string;
  /** Where the pot stands. */
  place: string;
  mixedAtMs: number;
  who: string | null;
}

export interface Mix extends NewMix {
  id: string;
  sheetRevision: number;
  /** Null while there is paint in it. */
  emptiedAtMs: number | null;
}

export class Mixes {
  readonly #db: Database.Database;
  readonly #sheets: Sheets;

  constructor(db: Database.Database, sheets: Sheets) {
    this.#db = db;
    this.#sheets = sheets;
  }

  add(mix: NewMix): Mix {
    const sheet = this.#sheets.newestOf(mix.sheetId);
    if (sheet.potLifeMinutesAt20C === undefined) {
      throw new RecordFault("conflict", `sheet ${sheet.id} gives no pot life (potLifeMinutesAt20C) to watch a mix by`);
    }
    const id = newId();
    this.#db
      .prepare("INSERT INTO mixes (id, sheet_id, sheet_revision, place, mixed_at_ms, who) VALUES (?, ?, ?, ?, ?, ?)")
      .run(id, sheet.id, sheet.revision, mix.place, mix.mixedAtMs, mix.who);
    return this.mix(id);
  }

  empty(id: string, atMs: number): Mix {
    const mix = this.mix(id);
    if (mix.emptiedAtMs !== null) {
      throw new RecordFault("conflict", `mix ${id} was emptied already, at ${iso(mix.emptiedAtMs)}`);
    }
    if (!(atMs >= mix.mixedAtMs)) {
      throw new RecordFault("conflict", `mix ${id} was mixed at ${iso(mix.mixedAtMs)}; it can't be emptied before`);
    }
    this.#db.prepare("UPDATE mixes SET emptied_at_ms = ? WHERE id = ?").run(atMs, id);
    return this.mix(id);
  }

  mix(id: string): Mix {
    const mix = this.#select("WHERE id = ?", id)[0];
    if (mix === undefined) throw new RecordFault("not-found", `no mix ${id}`);
    return mix;
  }

  /** Mixes not yet emptied, oldest first. */
  open(): Mix[] {
    return this.#select("WHERE emptied_at_ms IS NULL");
  }

  #select(where: string, ...values: string[]): Mix[] {
    return this.#db
      .prepare<string[], Mix>(
        `SELECT id, sheet_id AS sheetId, sheet_revision AS sheetRevision, place, mixed_at_ms AS mixedAtMs, who,
                emptied_at_ms AS emptiedAtMs
         FROM mixes ${where} ORDER BY mixed_at_ms, rowid`,
      )
      .all(...values);
  }
}
