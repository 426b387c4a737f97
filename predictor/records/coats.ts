/** Coats on the panels of cars, and what was corrected on them. */
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import type { SprayCheck } from "../cure/spray-check.ts";
import { type Appliers, run } from "./apply.ts";
import { arrivalOf, type Car, type Cars, refuseAfterDeparture } from "./cars.ts";
import type { Batch, What } from "./entry-kinds.ts";
import type { By } from "./log.ts";
import { newId } from "./new-id.ts";
import { conflict, notFound } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

/** Who took something back, when and why. */
export interface Withdrawal {
  reason: string;
  who: string;
  atMs: number;
}

export interface NewCoat {
  panels: readonly string[];
  sheetId: string;
  finishedAtMs: number;
  /** Dry film build; the sheet's own when null. */
  filmUm: number | null;
  /** Panel temperature entered at the finish, if someone measured it. */
  panelAtFinishC: number | null;
  batches: readonly Batch[];
  /** The limits as they stood at the finish; null when nothing told of them. */
  sprayCheck: SprayCheck | null;
}

export interface Coat extends NewCoat {
  id: string;
  carId: string;
  panels: string[];
  substrate: Substrate;
  sheetRevision: number;
  batches: Batch[];
  who: string;
  enteredAtMs: number;
  /** A coat withdrawn was entered by mistake: it is kept, and counts no more. */
  withdrawn: Withdrawal | null;
  /** Null while nobody has released or held it. */
  verdict: QualityVerdict | null;
}

/** What the quality lead said last of a coat. */
export interface QualityVerdict {
  state: "released" | "held";
  /** What the signature means, or why it is held. */
  words: string;
  who: string;
  role: By["role"];
  atMs: number;
}

export interface CoatCorrection {
  reason: string;
  finishedAtMs?: number | undefined;
  filmUm?: number | undefined;
  /** Another sheet; its newest revision is taken. */
  sheetId?: string | undefined;
}

export interface Correction {
  coatId: string;
  atMs: number;
  who: string;
  reason: string;
  field: "finishedAtMs" | "filmUm" | "sheetId";
  was: number | string | null;
  became: number | string;
}

export const coatTables = `
  CREATE TABLE coats (
    id TEXT PRIMARY KEY, car_id TEXT NOT NULL REFERENCES cars, substrate TEXT NOT NULL,
    sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL,
    finished_at_ms INTEGER NOT NULL, film_um REAL, panel_at_finish_c REAL, batches TEXT NOT NULL, spray_check TEXT,
    who TEXT NOT NULL, entered_at_ms INTEGER NOT NULL, withdrawn TEXT, verdict TEXT,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
  CREATE INDEX coats_by_car ON coats (car_id);
  CREATE INDEX coats_by_sheet ON coats (sheet_id, sheet_revision);
  CREATE TABLE coat_panels (
    coat_id TEXT NOT NULL REFERENCES coats, panel TEXT NOT NULL, PRIMARY KEY (coat_id, panel)
  ) STRICT;
  CREATE TABLE corrections (
    coat_id TEXT NOT NULL REFERENCES coats, at_ms INTEGER NOT NULL, who TEXT NOT NULL, reason TEXT NOT NULL,
    field TEXT NOT NULL, was ANY, became ANY NOT NULL
  ) STRICT;
`;

export const coatAppliers: Appliers<"coats-finished" | "coat-corrected" | "coat-withdrawn"> = {
  "coats-finished"(db, { carId, coats, sheetId, sheetRevision, ...what }, { who, atMs }) {
    const { finishedAtMs, filmUm, panelAtFinishC, batches, sprayCheck } = what;
    const kept = [JSON.stringify(batches), sprayCheck === null ? null : JSON.stringify(sprayCheck)];
    for (const { id, substrate, panels } of coats) {
      const made = [finishedAtMs, filmUm, panelAtFinishC, ...kept, who, atMs];
      const values = [id, carId, substrate, sheetId, sheetRevision, ...made];
      run(db, "INSERT INTO coats VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL, NULL)", ...values);
      for (const panel of panels) run(db, "INSERT INTO coat_panels VALUES (?, ?)", id, panel);
    }
  },
  "coat-corrected"(db, { coatId, reason, changes }, { who, atMs }) {
    for (const change of changes) {
      const { field, was, became } = change;
      const values = [coatId, atMs, who, reason, field, was, became];
      run(db, "INSERT INTO corrections VALUES (?, ?, ?, ?, ?, ?, ?)", ...values);
      if (change.field === "sheetId") {
        const sql = "UPDATE coats SET sheet_id = ?, sheet_revision = ? WHERE id = ?";
        run(db, sql, change.became, change.becameRevision, coatId);
      } else {
        const column = change.field === "filmUm" ? "film_um" : "finished_at_ms";
        run(db, `UPDATE coats SET ${column} = ? WHERE id = ?`, change.became, coatId);
      }
    }
  },
  "coat-withdrawn"(db, { coatId, reason }, { who, atMs }) {
    run(db, "UPDATE coats SET withdrawn = ? WHERE id = ?", JSON.stringify({ reason, who, atMs }), coatId);
  },
};

type CoatRow = Omit<Coat, "panels" | "batches" | "sprayCheck" | "withdrawn" | "verdict"> & {
  batches: string;
  sprayCheck: string | null;
  withdrawn: string | null;
  verdict: string | null;
};

export class Coats {
  readonly #db: Database.Database;
  readonly #cars: Cars;
  readonly #sheets: Sheets;

  constructor(db: Database.Database, cars: Cars, sheets: Sheets) {
    this.#db = db;
    this.#cars = cars;
    this.#sheets = sheets;
  }

  finishing(carId: string, coat: NewCoat): What<"coats-finished"> {
    const car = this.#cars.car(carId);
    const unknown = coat.panels.find((name) => !car.panels.some((panel) => panel.name === name));
    if (unknown !== undefined) {
      const known = car.panels.map((panel) => panel.name).join(", ");
      throw conflict("record-fault.no-panel", { panel: unknown, known });
    }
    refuseOutsideStay(car, coat.finishedAtMs);
    const sheet = this.#sheets.newestOf(coat.sheetId);
    const chosen = car.panels.filter((panel) => coat.panels.includes(panel.name));
    const coats = [...new Set(chosen.map((panel) => panel.substrate))].map((substrate) => ({
      id: newId(),
      substrate,
      panels: chosen.filter((panel) => panel.substrate === substrate).map((panel) => panel.name),
    }));
    const { finishedAtMs, filmUm, panelAtFinishC, sprayCheck } = coat;
    const entered = { finishedAtMs, filmUm, panelAtFinishC, batches: [...coat.batches], sprayCheck };
    return { carId, coats, sheetId: sheet.id, sheetRevision: sheet.revision, ...entered };
  }

  correcting(coatId: string, correction: CoatCorrection): What<"coat-corrected"> {
    const coat = this.coat(coatId);
    refuseWithdrawn(coat);
    const { reason, finishedAtMs, filmUm, sheetId } = correction;
    const changes: What<"coat-corrected">["changes"] = [];
    if (finishedAtMs !== undefined) {
      refuseOutsideStay(this.#cars.car(coat.carId), finishedAtMs);
      changes.push({ field: "finishedAtMs", was: coat.finishedAtMs, became: finishedAtMs });
    }
    if (filmUm !== undefined) changes.push({ field: "filmUm", was: coat.filmUm, became: filmUm });
    if (sheetId !== undefined) {
      const revisions = { wasRevision: coat.sheetRevision, becameRevision: this.#sheets.newestOf(sheetId).revision };
      changes.push({ field: "sheetId", was: coat.sheetId, became: sheetId, ...revisions });
    }
    if (changes.length === 0) throw conflict("record-fault.nothing-corrected");
    return { carId: coat.carId, coatId, reason, changes };
  }

  withdrawing(coatId: string, reason: string): What<"coat-withdrawn"> {
    const coat = this.coat(coatId);
    refuseWithdrawn(coat);
    return { carId: coat.carId, coatId, reason };
  }

  corrections(coatId: string): Correction[] {
    return this.#db
      .prepare<[string], Correction>(
        `SELECT coat_id AS coatId, at_ms AS atMs, who, reason, field, was, became
         FROM corrections WHERE coat_id = ? ORDER BY rowid`,
      )
      .all(coatId);
  }

  /** Any coat, withdrawn ones too. */
  coat(id: string): Coat {
    const coat = this.#select("WHERE id = ?", id)[0];
    if (coat === undefined) throw notFound("record-fault.no-coat", { id });
    return coat;
  }

  /** A car's coats that count, in the order they were finished. */
  ofCar(carId: string): Coat[] {
    return this.#select("WHERE car_id = ? AND withdrawn IS NULL", carId);
  }

  /** Withdrawn ones too. */
  allOfCar(carId: string): Coat[] {
    return this.#select("WHERE car_id = ?", carId);
  }

  /** The coats that count and were finished in a span, in that order. */
  finishedBetween(fromMs: number, toMs: number): Coat[] {
    return this.#select("WHERE finished_at_ms >= ? AND finished_at_ms < ? AND withdrawn IS NULL", fromMs, toMs);
  }

  #select(where: string, ...values: (string | number)[]): Coat[] {
    const panels = this.#db.prepare<[string], { panel: string }>(
      "SELECT panel FROM coat_panels WHERE coat_id = ? ORDER BY rowid",
    );
    return this.#db
      .prepare<(string | number)[], CoatRow>(
        `SELECT id, car_id AS carId, substrate, sheet_id AS sheetId, sheet_revision AS sheetRevision,
                finished_at_ms AS finishedAtMs, film_um AS filmUm, panel_at_finish_c AS panelAtFinishC, batches,
                spray_check AS sprayCheck, who, entered_at_ms AS enteredAtMs, withdrawn, verdict
         FROM coats ${where} ORDER BY finished_at_ms, rowid`,
      )
      .all(...values)
      .map((row) => ({
        ...row,
        panels: panels.all(row.id).map((each) => each.panel),
        batches: JSON.parse(row.batches) as Batch[],
        sprayCheck: row.sprayCheck === null ? null : (JSON.parse(row.sprayCheck) as SprayCheck),
        withdrawn: row.withdrawn === null ? null : (JSON.parse(row.withdrawn) as Withdrawal),
        verdict: row.verdict === null ? null : (JSON.parse(row.verdict) as QualityVerdict),
      }));
  }
}

/** Throws when a coat counts no more. */
export function refuseWithdrawn({ withdrawn }: Coat): void {
  if (withdrawn === null) return;
  throw conflict("record-fault.coat-withdrawn", { who: withdrawn.who, reason: withdrawn.reason });
}

function refuseOutsideStay(car: Car, finishedAtMs: number): void {
  const arrivedMs = arrivalOf(car);
  if (!(finishedAtMs >= arrivedMs)) {
    throw conflict("record-fault.coat-before-arrival", {
      at: { dateMs: finishedAtMs },
      arrival: { dateMs: arrivedMs },
    });
  }
  refuseAfterDeparture(car, finishedAtMs);
}
