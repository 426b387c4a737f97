/** Coats on the panels of cars, and what was corrected on them. */
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import { arrivalOf, type Cars, refuseAfterDeparture } from "./cars.ts";
import { newId } from "./new-id.ts";
import { iso, RecordFault } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

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

export interface NewCoat {
  panels: readonly string[];
  sheetId: string;
  finishedAtMs: number;
  filmUm: number | null;
  panelAtFinishC: number | null;
}

export interface CoatCorrection {
  reason: string;
  finishedAtMs?: number;
  filmUm?: number;
  atMs: number;
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

export class Coats {
  readonly #db: Database.Database;
  readonly #cars: Cars;
  readonly #sheets: Sheets;

  constructor(db: Database.Database, cars: Cars, sheets: Sheets) {
    this.#db = db;
    this.#cars = cars;
    this.#sheets = sheets;
  }

  add(carId: string, coat: NewCoat): Coat[] {
    const car = this.#cars.car(carId);
    const unknown = coat.panels.find((name) => !car.panels.some((panel) => panel.name === name));
    if (unknown !== undefined) {
      throw new RecordFault(
        "conflict",
        `the car has no panel "${unknown}"; it has ${car.panels.map((panel) => panel.name).join(", ")}`,
      );
    }
    const arrivedMs = arrivalOf(car);
    if (!(coat.finishedAtMs >= arrivedMs)) {
      throw new RecordFault(
        "conflict",
        `the coat would be finished at ${iso(coat.finishedAtMs)}, before the car came at ${iso(arrivedMs)}`,
      );
    }
    refuseAfterDeparture(car, coat.finishedAtMs);
    const sheet = this.#sheets.newestOf(coat.sheetId);
    const chosen = car.panels.filter((panel) => coat.panels.includes(panel.name));
    const substrates = [...new Set(chosen.map((panel) => panel.substrate))];
    const ids = substrates.map(() => newId());
    this.#db.transaction(() => {
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
    })();
    return ids.map((id) => this.coat(id));
  }

  correct(coatId: string, correction: CoatCorrection): Coat {
    const coat = this.coat(coatId);
    const column = { finishedAtMs: "finished_at_ms", filmUm: "film_um" } as const;
    const arrivedMs = arrivalOf(this.#cars.car(coat.carId));
    if (correction.finishedAtMs !== undefined && !(correction.finishedAtMs >= arrivedMs)) {
      throw new RecordFault("conflict", `the coat would be finished before the car came at ${iso(arrivedMs)}`);
    }
    this.#db.transaction(() => {
      for (const field of ["finishedAtMs", "filmUm"] as const) {
        const became = correction[field];
        if (became === undefined) continue;
        this.#db
          .prepare("INSERT INTO corrections (coat_id, at_ms, reason, field, was, became) VALUES (?, ?, ?, ?, ?, ?)")
          .run(coatId, correction.atMs, correction.reason, field, coat[field], became);
        this.#db.prepare(`UPDATE coats SET ${column[field]} = ? WHERE id = ?`).run(became, coatId);
      }
    })();
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
    const coat = this.#select("WHERE id = ?", id)[0];
    if (coat === undefined) throw new RecordFault("not-found", `no coat ${id}`);
    return coat;
  }

  /** A car's coats in the order they were finished. */
  ofCar(carId: string): Coat[] {
    return this.#select("WHERE car_id = ?", carId);
  }

  #select(where: string, value: string): Coat[] {
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
}
