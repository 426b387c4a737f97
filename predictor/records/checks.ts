/** Checks of coats: someone tried whether a stage was reached, and how. What the model learns from. */
import type Database from "better-sqlite3";
import { text } from "../../words/text.ts";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { type Appliers, run } from "./apply.ts";
import { type Cars, type Move, placeAt, refuseAfterDeparture } from "./cars.ts";
import { type Coats, refuseWithdrawn, type Withdrawal } from "./coats.ts";
import type { CheckHow, Told, What } from "./entry-kinds.ts";
import { newId } from "./new-id.ts";
import { conflict, notFound } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

export interface NewCheck {
  coatId: string;
  stage: StageName;
  /** The instant it was tried, no earlier than the coat's finish. */
  atMs: number;
  /** False: not yet. */
  ready: boolean;
  how: CheckHow;
  note?: string | undefined;
  /** When the stage was said to be likely and safe, just before; null or absent when nothing was said. */
  told?: Told | null | undefined;
}

export interface Check {
  id: string;
  coatId: string;
  stage: StageName;
  atMs: number;
  ready: boolean;
  how: CheckHow;
  who: string;
  note: string | null;
  /** Null also where an earlier version did not keep it. */
  told: Told | null;
  enteredAtMs: number;
  /** A check withdrawn, as after a mistap, is kept but counts no more. */
  withdrawn: Withdrawal | null;
}

/** A check that counts, with what its coat was and where it stood. */
export interface PlacedCheck extends Pick<Check, "id" | "coatId" | "stage" | "atMs" | "ready" | "told"> {
  sheetId: string;
  sheetRevision: number;
  finishedAtMs: number;
  /** Null where it was in the shop no more. */
  place: string | null;
  /** Its coat was corrected after it was entered: what was told was told of another coat. */
  isCorrectedSince: boolean;
}

export const checkTables = `
  CREATE TABLE checks (
    id TEXT PRIMARY KEY, coat_id TEXT NOT NULL REFERENCES coats, stage TEXT NOT NULL, at_ms INTEGER NOT NULL,
    ready INTEGER NOT NULL CHECK (ready IN (0, 1)), how TEXT NOT NULL, note TEXT,
    told_likely_at_ms INTEGER, told_safe_at_ms INTEGER,
    who TEXT NOT NULL, entered_at_ms INTEGER NOT NULL, withdrawn TEXT
  ) STRICT;
  CREATE INDEX checks_by_coat ON checks (coat_id);
`;

export const checkAppliers: Appliers<"coat-checked" | "check-withdrawn"> = {
  "coat-checked"(db, { id, coatId, stage, atMs, ready, how, note, told }, made) {
    const said = [told?.likelyAtMs ?? null, told?.safeAtMs ?? null];
    const values = [id, coatId, stage, atMs, ready ? 1 : 0, how, note, ...said, made.who, made.atMs];
    run(db, "INSERT INTO checks VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)", ...values);
  },
  "check-withdrawn"(db, { id, reason }, { who, atMs }) {
    run(db, "UPDATE checks SET withdrawn = ? WHERE id = ?", JSON.stringify({ reason, who, atMs }), id);
  },
};

export interface ChecksParts {
  cars: Cars;
  coats: Coats;
  sheets: Sheets;
}

interface ToldRow {
  toldLikelyAtMs: number | null;
  toldSafeAtMs: number | null;
}
type CheckRow = Omit<Check, "ready" | "told" | "withdrawn"> & ToldRow & { ready: number; withdrawn: string | null };
type PlacedRow = Omit<PlacedCheck, "ready" | "told" | "isCorrectedSince"> &
  ToldRow & { ready: number; isCorrectedSince: number };

export class Checks {
  readonly #db: Database.Database;
  readonly #parts: ChecksParts;

  constructor(db: Database.Database, parts: ChecksParts) {
    this.#db = db;
    this.#parts = parts;
  }

  checking({ coatId, stage, atMs, ready, how, note, told }: NewCheck): What<"coat-checked"> {
    const { cars, coats, sheets } = this.#parts;
    const coat = coats.coat(coatId);
    refuseWithdrawn(coat);
    const stages = stagesOf(sheets.revision(coat.sheetId, coat.sheetRevision));
    if (!stages.includes(stage)) {
      const known = stages.map((each) => text(`stage.${each}`));
      throw conflict("record-fault.no-stage", { id: coat.sheetId, stage: text(`stage.${stage}`), known });
    }
    if (!(atMs >= coat.finishedAtMs)) {
      throw conflict("record-fault.check-before-finish", {
        at: { dateMs: atMs },
        finish: { dateMs: coat.finishedAtMs },
      });
    }
    refuseAfterDeparture(cars.car(coat.carId), atMs);
    return { carId: coat.carId, coatId, id: newId(), stage, atMs, ready, how, note: note ?? null, told: told ?? null };
  }

  withdrawing(id: string, reason: string): What<"check-withdrawn"> {
    const { coatId, withdrawn } = this.check(id);
    if (withdrawn !== null) {
      throw conflict("record-fault.check-withdrawn", { who: withdrawn.who, reason: withdrawn.reason });
    }
    return { carId: this.#parts.coats.coat(coatId).carId, coatId, id, reason };
  }

  /** Throws when a check that counts lies before an instant, as that of a corrected finish. */
  refuseFinish(coatId: string, finishedAtMs: number): void {
    const early = this.counting(coatId).find(({ atMs }) => !(finishedAtMs <= atMs));
    if (early !== undefined) throw conflict("record-fault.finish-after-check", { at: { dateMs: early.atMs } });
  }

  /** Throws when a check that counts is of a stage that a sheet has not. */
  refuseSheet(coatId: string, sheet: Sheet): void {
    const stages = stagesOf(sheet);
    const foreign = this.counting(coatId).find(({ stage }) => !stages.includes(stage));
    if (foreign === undefined) return;
    throw conflict("record-fault.stage-checked", { id: sheet.id, stage: text(`stage.${foreign.stage}`) });
  }

  /** Throws when a coat or check that counts, made while the car was in the shop, would by other moves fall outside its stay. */
  refuseStranded(carId: string, moves: readonly Pick<Move, "place" | "atMs">[]): void {
    const { cars, coats } = this.#parts;
    const before = cars.car(carId).moves;
    const after = moves.toSorted((a, b) => a.atMs - b.atMs);
    const isStranded = (atMs: number) => placeAt(before, atMs) !== null && placeAt(after, atMs) === null;
    for (const { id, finishedAtMs } of coats.ofCar(carId)) {
      if (isStranded(finishedAtMs)) throw conflict("record-fault.stranded-coat", { at: { dateMs: finishedAtMs } });
      const check = this.counting(id).find(({ atMs }) => isStranded(atMs));
      if (check !== undefined) throw conflict("record-fault.stranded-check", { at: { dateMs: check.atMs } });
    }
  }

  check(id: string): Check {
    const check = this.#select("WHERE checks.id = ?", id)[0];
    if (check === undefined) throw notFound("record-fault.no-check", { id });
    return check;
  }

  /** All checks of a coat, withdrawn ones too, oldest first. */
  ofCoat(coatId: string): Check[] {
    return this.#select("WHERE coat_id = ?", coatId);
  }

  counting(coatId: string): Check[] {
    return this.ofCoat(coatId).filter(({ withdrawn }) => withdrawn === null);
  }

  /** The checks that count for a revision of a sheet, oldest first. */
  ofSheet(sheetId: string, revision: number): Check[] {
    return this.#select(
      `JOIN coats ON coats.id = coat_id
       WHERE coats.sheet_id = ? AND coats.sheet_revision = ? AND checks.withdrawn IS NULL AND coats.withdrawn IS NULL`,
      sheetId,
      revision,
    );
  }

  /** The checks that count of the coats that count and were finished in a span, oldest first. */
  ofCoatsFinished(fromMs: number, toMs: number): PlacedCheck[] {
    return this.#db
      .prepare<[number, number], PlacedRow>(
        `SELECT checks.id, coat_id AS coatId, stage, checks.at_ms AS atMs, ready, told_likely_at_ms AS toldLikelyAtMs,
                told_safe_at_ms AS toldSafeAtMs, sheet_id AS sheetId, sheet_revision AS sheetRevision,
                finished_at_ms AS finishedAtMs,
                (SELECT place FROM moves WHERE moves.car_id = coats.car_id AND moves.at_ms <= checks.at_ms
                 ORDER BY moves.at_ms DESC LIMIT 1) AS place,
                EXISTS (SELECT 1 FROM corrections WHERE corrections.coat_id = coats.id
                        AND corrections.at_ms >= checks.entered_at_ms) AS isCorrectedSince
         FROM coats JOIN checks ON coat_id = coats.id
         WHERE finished_at_ms >= ? AND finished_at_ms < ? AND checks.withdrawn IS NULL AND coats.withdrawn IS NULL
         ORDER BY checks.at_ms, checks.rowid`,
      )
      .all(fromMs, toMs)
      .map(({ isCorrectedSince, ...row }) => ({
        ...withTold(row),
        ready: row.ready === 1,
        isCorrectedSince: isCorrectedSince === 1,
      }));
  }

  #select(where: string, ...values: (string | number)[]): Check[] {
    return this.#db
      .prepare<(string | number)[], CheckRow>(
        `SELECT checks.id, coat_id AS coatId, stage, at_ms AS atMs, ready, how, checks.who, note,
                told_likely_at_ms AS toldLikelyAtMs, told_safe_at_ms AS toldSafeAtMs, checks.entered_at_ms AS enteredAtMs, checks.withdrawn
         FROM checks ${where} ORDER BY at_ms, checks.rowid`,
      )
      .all(...values)
      .map((row) => ({
        ...withTold(row),
        ready: row.ready === 1,
        withdrawn: row.withdrawn === null ? null : (JSON.parse(row.withdrawn) as Withdrawal),
      }));
  }
}

function withTold<T extends ToldRow>({ toldLikelyAtMs, toldSafeAtMs, ...row }: T) {
  const isTold = toldLikelyAtMs !== null || toldSafeAtMs !== null;
  return { ...row, told: isTold ? { likelyAtMs: toldLikelyAtMs, safeAtMs: toldSafeAtMs } : null };
}

/** The stages that a coat of the sheet goes through: full cure comes last even where the sheet does not print it. */
function stagesOf(sheet: Sheet): StageName[] {
  return [...new Set([...sheet.stages.map(({ stage }) => stage), "full-cure" as const])];
}
