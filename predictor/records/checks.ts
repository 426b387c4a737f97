/** Checks of coats: someone tried whether a stage was reached, and how. What the model learns from. */
import type Database from "better-sqlite3";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { type Cars, refuseAfterDeparture } from "./cars.ts";
import type { Coats } from "./coats.ts";
import { newId } from "./new-id.ts";
import { iso, RecordFault } from "./record-fault.ts";
import type { Sheets } from "./sheets.ts";

/** Ways to try a coat, in the painter's words. */
export const checkHows = ["thumb", "nail", "sanding", "tape"] as const;
export type CheckHow = (typeof checkHows)[number];

export interface NewCheck {
  coatId: string;
  stage: StageName;
  /** The instant it was tried, no earlier than the coat's finish. */
  atMs: number;
  /** False: not yet. */
  ready: boolean;
  how: CheckHow;
  who: string;
  note?: string | undefined;
  enteredAtMs: number;
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
  enteredAtMs: number;
  /** A check withdrawn, as after a mistap, is kept but counts no more. */
  withdrawn: Withdrawal | null;
}

export interface Withdrawal {
  reason: string;
  who: string;
  atMs: number;
}

interface CheckRow extends Omit<Check, "ready" | "withdrawn"> {
  ready: number;
  withdrawnReason: string | null;
  withdrawnWho: string | null;
  withdrawnAtMs: number | null;
}

export interface ChecksParts {
  cars: Cars;
  coats: Coats;
  sheets: Sheets;
}

export class Checks {
  readonly #db: Database.Database;
  readonly #parts: ChecksParts;

  constructor(db: Database.Database, parts: ChecksParts) {
    this.#db = db;
    this.#parts = parts;
  }

  add(check: NewCheck): Check {
    const { cars, coats, sheets } = this.#parts;
    const coat = coats.coat(check.coatId);
    const stages = stagesOf(sheets.revision(coat.sheetId, coat.sheetRevision));
    if (!stages.includes(check.stage)) {
      throw new RecordFault(
        "conflict",
        `sheet ${coat.sheetId} has no stage "${check.stage}"; it has ${stages.join(", ")}`,
      );
    }
    if (!(check.atMs >= coat.finishedAtMs)) {
      throw new RecordFault(
        "conflict",
        `the check at ${iso(check.atMs)} lies before the coat's finish at ${iso(coat.finishedAtMs)}`,
      );
    }
    refuseAfterDeparture(cars.car(coat.carId), check.atMs);
    const id = newId();
    this.#db
      .prepare(
        `INSERT INTO checks (id, coat_id, stage, at_ms, ready, how, who, note, entered_at_ms)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      )
      .run(
        id,
        check.coatId,
        check.stage,
        check.atMs,
        check.ready ? 1 : 0,
        check.how,
        check.who,
        check.note ?? null,
        check.enteredAtMs,
      );
    return this.check(id);
  }

  withdraw(id: string, withdrawal: Withdrawal): Check {
    const { withdrawn } = this.check(id);
    if (withdrawn !== null) {
      throw new RecordFault("conflict", `check ${id} was withdrawn already, by ${withdrawn.who}: ${withdrawn.reason}`);
    }
    this.#db
      .prepare("UPDATE checks SET withdrawn_reason = ?, withdrawn_who = ?, withdrawn_at_ms = ? WHERE id = ?")
      .run(withdrawal.reason, withdrawal.who, withdrawal.atMs, id);
    return this.check(id);
  }

  /** Throws when a coat corrected to be finished at an instant would have been checked before, by a check that counts. */
  refuseFinish(coatId: string, finishedAtMs: number): void {
    const early = this.ofCoat(coatId).find(({ withdrawn, atMs }) => withdrawn === null && !(finishedAtMs <= atMs));
    if (early === undefined) return;
    throw new RecordFault(
      "conflict",
      `the coat would be finished after its check at ${iso(early.atMs)}; if the finish is right, withdraw the check first`,
    );
  }

  check(id: string): Check {
    const check = this.#select("WHERE checks.id = ?", id)[0];
    if (check === undefined) throw new RecordFault("not-found", `no check ${id}`);
    return check;
  }

  /** All checks of a coat, withdrawn ones too, oldest first. */
  ofCoat(coatId: string): Check[] {
    return this.#select("WHERE coat_id = ?", coatId);
  }

  /** The checks that count for a revision of a sheet, oldest first. */
  ofSheet(sheetId: string, revision: number): Check[] {
    return this.#select(
      `JOIN coats ON coats.id = coat_id
       WHERE coats.sheet_id = ? AND coats.sheet_revision = ? AND withdrawn_at_ms IS NULL`,
      sheetId,
      revision,
    );
  }

  #select(where: string, ...values: (string | number)[]): Check[] {
    return this.#db
      .prepare<(string | number)[], CheckRow>(
        `SELECT checks.id, coat_id AS coatId, stage, at_ms AS atMs, ready, how, who, note, entered_at_ms AS enteredAtMs,
                withdrawn_reason AS withdrawnReason, withdrawn_who AS withdrawnWho, withdrawn_at_ms AS withdrawnAtMs
         FROM checks ${where} ORDER BY at_ms, checks.rowid`,
      )
      .all(...values)
      .map(({ withdrawnReason, withdrawnWho, withdrawnAtMs, ...row }) => ({
        ...row,
        ready: row.ready === 1,
        withdrawn:
          withdrawnReason === null || withdrawnWho === null || withdrawnAtMs === null
            ? null
            : { reason: withdrawnReason, who: withdrawnWho, atMs: withdrawnAtMs },
      }));
  }
}

/** The stages that a coat of the sheet goes through: full cure comes last even where the sheet does not print it. */
function stagesOf(sheet: Sheet): StageName[] {
  return [...new Set([...sheet.stages.map(({ stage }) => stage), "full-cure" as const])];
}
