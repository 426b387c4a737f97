/** What people entered: cars, their panels, where they stood, coats and corrections. SQLite, durable before it is acknowledged. */
import { randomInt } from "node:crypto";
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { openDatabase } from "../database.ts";
import { RecordFault } from "./record-fault.ts";
import { recordsSchema } from "./schema.ts";

export interface Panel {
  name: string;
  substrate: Substrate;
}

/** From this instant the car stood in `place`; null: it had left the shop. */
export interface Move {
  place: string | null;
  atMs: number;
}

export interface Car {
  id: string;
  job: string;
  name: string;
  panels: Panel[];
  /** In order of time; the first is its arrival. */
  moves: Move[];
}

export interface Coat {
  id: string;
  carId: string;
  panels: string[];
  substrate: Substrate;
  sheetId: string;
  sheetRevision: number;
  finishedAtMs: number;
  /** Dry film build; the sheet's own when null. */
  filmUm: number | null;
  /** Panel temperature entered at the finish, if someone measured it. */
  panelAtFinishC: number | null;
}

export interface Correction {
  coatId: string;
  atMs: number;
  reason: string;
  field: "finishedAtMs" | "filmUm";
  was: number | null;
  became: number;
}

type CoatRow = Omit<Coat, "panels">;

export class Records {
  readonly #db: Database.Database;
  readonly #listeners = new Set<(carId: string) => void>();
  /** Every revision kept, by id and revision. */
  readonly #sheets: Map<string, Sheet>;

  /** Opens (and makes, when absent) the records in a file; throws as openDatabase does. */
  constructor(file: string) {
    this.#db = openDatabase(file, recordsSchema);
    const kept = this.#db.prepare<[], { sheet: string }>("SELECT sheet FROM sheets").all();
    const sheets = kept.map((row) => sheetSchema.parse(JSON.parse(row.sheet)));
    this.#sheets = new Map(sheets.map((sheet) => [sheetKey(sheet.id, sheet.revision), sheet]));
  }

  close(): void {
    this.#db.close();
  }

  /** Calls back after each change that touches a car; the function returned ends it. */
  onChange(listener: (carId: string) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  // --- sheets

  /** Keeps a revision of a sheet. Throws when the same revision is kept already with other content: coats rest on it. */
  keepSheet(sheet: Sheet): void {
    const key = sheetKey(sheet.id, sheet.revision);
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

  sheet(id: string, revision: number): Sheet {
    const sheet = this.#sheets.get(sheetKey(id, revision));
    if (sheet === undefined) throw new RecordFault("not-found", `no sheet ${id} revision ${revision}`);
    return sheet;
  }

  /** The newest revision of each sheet, by name. */
  sheets(): Sheet[] {
    const newest = new Map<string, Sheet>();
    for (const sheet of this.#sheets.values()) {
      if (sheet.revision >= (newest.get(sheet.id)?.revision ?? 0)) newest.set(sheet.id, sheet);
    }
    return [...newest.values()].sort((a, b) => a.name.localeCompare(b.name));
  }

  // --- cars

  addCar(car: { job: string; name: string; panels: readonly Panel[]; place: string; atMs: number }): Car {
    const names = car.panels.map((panel) => panel.name);
    const twice = names.find((name, index) => names.indexOf(name) !== index);
    if (twice !== undefined) throw new RecordFault("conflict", `panel "${twice}" is named twice`);
    const id = newId();
    this.#change(id, () => {
      this.#db.prepare("INSERT INTO cars (id, job, name) VALUES (?, ?, ?)").run(id, car.job, car.name);
      const insert = this.#db.prepare("INSERT INTO panels (car_id, position, name, substrate) VALUES (?, ?, ?, ?)");
      for (const [position, panel] of car.panels.entries()) insert.run(id, position, panel.name, panel.substrate);
      this.#db.prepare("INSERT INTO moves (car_id, at_ms, place) VALUES (?, ?, ?)").run(id, car.atMs, car.place);
    });
    return this.car(id);
  }

  /** Records that a car stood in another place from an instant on, or (null) had left the shop. */
  addMove(carId: string, place: string | null, atMs: number): Car {
    const car = this.car(carId);
    const arrivedMs = car.moves[0]?.atMs ?? Number.NEGATIVE_INFINITY;
    if (!(atMs > arrivedMs))
      throw new RecordFault("conflict", `the car came to the shop at ${iso(arrivedMs)}; a move must be later`);
    if (car.moves.some((move) => move.atMs === atMs))
      throw new RecordFault("conflict", `a move at ${iso(atMs)} is recorded already`);
    this.#change(carId, () => {
      this.#db.prepare("INSERT INTO moves (car_id, at_ms, place) VALUES (?, ?, ?)").run(carId, atMs, place);
    });
    return this.car(carId);
  }

  car(id: string): Car {
    const row = this.#db
      .prepare<[string], { id: string; job: string; name: string }>("SELECT id, job, name FROM cars WHERE id = ?")
      .get(id);
    if (row === undefined) throw new RecordFault("not-found", `no car ${id}`);
    return {
      ...row,
      panels: this.#db
        .prepare<[string], Panel>("SELECT name, substrate FROM panels WHERE car_id = ? ORDER BY position")
        .all(id),
      moves: this.#db
        .prepare<[string], Move>("SELECT place, at_ms AS atMs FROM moves WHERE car_id = ? ORDER BY at_ms")
        .all(id),
    };
  }

  /** Cars that have not left the shop. */
  carsHere(): Car[] {
    return this.#db
      .prepare<[], { id: string }>(
        `SELECT car_id AS id FROM moves m WHERE at_ms = (SELECT max(at_ms) FROM moves WHERE car_id = m.car_id) AND place IS NOT NULL
         ORDER BY at_ms`,
      )
      .all()
      .map((row) => this.car(row.id));
  }

  // --- coats

  /** Records finished coats, one for each substrate among the panels, since panels of different make warm at different rates. */
  addCoats(
    carId: string,
    coat: {
      panels: readonly string[];
      sheetId: string;
      finishedAtMs: number;
      filmUm: number | null;
      panelAtFinishC: number | null;
    },
  ): Coat[] {
    const car = this.car(carId);
    const unknown = coat.panels.find((name) => !car.panels.some((panel) => panel.name === name));
    if (unknown !== undefined) {
      throw new RecordFault(
        "conflict",
        `the car has no panel "${unknown}"; it has ${car.panels.map((panel) => panel.name).join(", ")}`,
      );
    }
    const arrivedMs = car.moves[0]?.atMs ?? Number.NEGATIVE_INFINITY;
    if (!(coat.finishedAtMs >= arrivedMs)) {
      throw new RecordFault(
        "conflict",
        `the coat would be finished at ${iso(coat.finishedAtMs)}, before the car came at ${iso(arrivedMs)}`,
      );
    }
    if (car.moves.findLast((move) => move.atMs <= coat.finishedAtMs)?.place === null) {
      throw new RecordFault("conflict", `the car had left the shop by ${iso(coat.finishedAtMs)}`);
    }
    const sheet = this.sheets().find((each) => each.id === coat.sheetId);
    if (sheet === undefined) {
      throw new RecordFault(
        "conflict",
        `no sheet "${coat.sheetId}"; there are ${this.sheets()
          .map((each) => each.id)
          .join(", ")}`,
      );
    }
    const chosen = car.panels.filter((panel) => coat.panels.includes(panel.name));
    const substrates = [...new Set(chosen.map((panel) => panel.substrate))];
    const ids = substrates.map(() => newId());
    this.#change(carId, () => {
      for (const [index, substrate] of substrates.entries()) {
        const id = ids[index];
        this.#db
          .prepare(
            `INSERT INTO coats (id, car_id, substrate, sheet_id, sheet_revision, finished_at_ms, film_um, panel_at_finish_c)
             VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
          )
          .run(id, carId, substrate, sheet.id, sheet.revision, coat.finishedAtMs, coat.filmUm, coat.panelAtFinishC);
        const insert = this.#db.prepare("INSERT INTO coat_panels (coat_id, panel) VALUES (?, ?)");
        for (const panel of chosen) if (panel.substrate === substrate) insert.run(id, panel.name);
      }
    });
    return ids.map((id) => this.coat(id));
  }

  /** Corrects a coat; the old value and the reason are kept. */
  correctCoat(
    coatId: string,
    correction: { reason: string; finishedAtMs?: number; filmUm?: number; atMs: number },
  ): Coat {
    const coat = this.coat(coatId);
    const column = { finishedAtMs: "finished_at_ms", filmUm: "film_um" } as const;
    const arrivedMs = this.car(coat.carId).moves[0]?.atMs ?? Number.NEGATIVE_INFINITY;
    if (correction.finishedAtMs !== undefined && !(correction.finishedAtMs >= arrivedMs)) {
      throw new RecordFault("conflict", `the coat would be finished before the car came at ${iso(arrivedMs)}`);
    }
    this.#change(coat.carId, () => {
      for (const field of ["finishedAtMs", "filmUm"] as const) {
        const became = correction[field];
        if (became === undefined) continue;
        this.#db
          .prepare("INSERT INTO corrections (coat_id, at_ms, reason, field, was, became) VALUES (?, ?, ?, ?, ?, ?)")
          .run(coatId, correction.atMs, correction.reason, field, coat[field], became);
        this.#db.prepare(`UPDATE coats SET ${column[field]} = ? WHERE id = ?`).run(became, coatId);
      }
    });
    return this.coat(coatId);
  }

  corrections(coatId: string): Correction[] {
    return this.#db
      .prepare<[string], Correction>(
        "SELECT coat_id AS coatId, at_ms AS atMs, reason, field, was, became FROM corrections WHERE coat_id = ? ORDER BY at_ms",
      )
      .all(coatId);
  }

  coat(id: string): Coat {
    const coat = this.#coats("WHERE id = ?", id)[0];
    if (coat === undefined) throw new RecordFault("not-found", `no coat ${id}`);
    return coat;
  }

  /** A car's coats in the order they were finished. */
  coatsOf(carId: string): Coat[] {
    return this.#coats("WHERE car_id = ?", carId);
  }

  #coats(where: string, value: string): Coat[] {
    const panels = this.#db.prepare<[string], { panel: string }>(
      "SELECT panel FROM coat_panels WHERE coat_id = ? ORDER BY rowid",
    );
    return this.#db
      .prepare<[string], CoatRow>(
        `SELECT id, car_id AS carId, substrate, sheet_id AS sheetId, sheet_revision AS sheetRevision,
                finished_at_ms AS finishedAtMs, film_um AS filmUm, panel_at_finish_c AS panelAtFinishC
         FROM coats ${where} ORDER BY finished_at_ms, rowid`,
      )
      .all(value)
      .map((row) => ({ ...row, panels: panels.all(row.id).map((each) => each.panel) }));
  }

  #change(carId: string, write: () => void): void {
    this.#db.transaction(write)();
    for (const listener of this.#listeners) listener(carId);
  }
}

/** Short enough to read out, long enough not to meet twice in a shop: eight letters and digits without look-alikes. */
function newId(): string {
  const letters = "23456789abcdefghjkmnpqrstuvwxyz";
  return Array.from({ length: 8 }, () => letters[randomInt(letters.length)]).join("");
}

const sheetKey = (id: string, revision: number): string => `${id}/${revision}`;
const iso = (ms: number): string => new Date(ms).toISOString();
