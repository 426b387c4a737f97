/** The warnings that were raised, and what became of each. What a warning is, and when it is raised, is not known here. */
import type Database from "better-sqlite3";
import type { Text } from "../../words/text.ts";
import { type Appliers, run } from "./apply.ts";
import type { What } from "./entry-kinds.ts";
import { conflict, notFound } from "./record-fault.ts";

export type WarningEvent =
  | {
      event: "raised";
      id: string;
      rule: string;
      place: string;
      coatId: string | null;
      carId: string | null;
      urgency: string;
      text: Text;
      /** As it was said, in the shop's language. */
      said: string;
    }
  | { event: "answered"; id: string; done: string }
  | { event: "set aside"; id: string; untilMs: number; reason: string }
  | { event: "said again"; id: string }
  | { event: "ended"; id: string };

export interface RecordedWarning {
  id: string;
  rule: string;
  place: string;
  coatId: string | null;
  carId: string | null;
  urgency: string;
  text: Text;
  raisedAtMs: number;
  endedAtMs: number | null;
  answer: { who: string; atMs: number; done: string } | null;
  /** Said again once that was over. */
  setAside: { who: string; atMs: number; untilMs: number; reason: string; saidAgainAtMs?: number } | null;
}

export const warningTables = `
  CREATE TABLE warnings (
    id TEXT PRIMARY KEY, rule TEXT NOT NULL, place TEXT NOT NULL, coat_id TEXT, car_id TEXT, urgency TEXT NOT NULL,
    text TEXT NOT NULL, raised_at_ms INTEGER NOT NULL, ended_at_ms INTEGER, answer TEXT, set_aside TEXT
  ) STRICT;
  CREATE INDEX warnings_by_coat ON warnings (coat_id);
  CREATE INDEX warnings_by_place ON warnings (place, raised_at_ms);
  CREATE INDEX warnings_by_end ON warnings (ended_at_ms);
`;

type WarningKind = "warning-raised" | "warning-answered" | "warning-set-aside" | "warning-said-again" | "warning-ended";

export const warningAppliers: Appliers<WarningKind> = {
  "warning-raised"(db, { id, rule, place, coatId, carId, urgency, text }, { atMs }) {
    const values = [id, rule, place, coatId, carId, urgency, JSON.stringify(text), atMs];
    run(db, "INSERT INTO warnings VALUES (?, ?, ?, ?, ?, ?, ?, ?, NULL, NULL, NULL)", ...values);
  },
  "warning-answered"(db, { id, done }, { who, atMs }) {
    run(db, "UPDATE warnings SET answer = ? WHERE id = ?", JSON.stringify({ who, atMs, done }), id);
  },
  "warning-set-aside"(db, { id, untilMs, reason }, { who, atMs }) {
    run(db, "UPDATE warnings SET set_aside = ? WHERE id = ?", JSON.stringify({ who, atMs, untilMs, reason }), id);
  },
  "warning-said-again"(db, { id }, { atMs }) {
    run(db, "UPDATE warnings SET set_aside = json_set(set_aside, '$.saidAgainAtMs', ?) WHERE id = ?", atMs, id);
  },
  "warning-ended"(db, { id }, { atMs }) {
    run(db, "UPDATE warnings SET ended_at_ms = ? WHERE id = ?", atMs, id);
  },
};

type Entered = { [K in WarningKind]: { kind: K; what: What<K> } }[WarningKind];
type WarningRow = Omit<RecordedWarning, "text" | "answer" | "setAside"> & {
  text: string;
  answer: string | null;
  setAside: string | null;
};

export class WarningsKept {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** What is entered of something that happened to a warning. */
  happening(event: WarningEvent): Entered {
    const known = this.#select("WHERE id = ?", event.id)[0];
    if (event.event === "raised") {
      if (known !== undefined) throw conflict("record-fault.warning-known", { id: event.id });
      const { event: _, ...what } = event;
      return { kind: "warning-raised", what };
    }
    if (known === undefined) throw notFound("record-fault.no-warning", { id: event.id });
    if (known.endedAtMs !== null) throw conflict("record-fault.warning-ended", { id: event.id });
    const of = { id: known.id, carId: known.carId, coatId: known.coatId };
    if (event.event === "answered") return { kind: "warning-answered", what: { ...of, done: event.done } };
    if (event.event === "said again") return { kind: "warning-said-again", what: of };
    if (event.event === "ended") return { kind: "warning-ended", what: of };
    return { kind: "warning-set-aside", what: { ...of, untilMs: event.untilMs, reason: event.reason } };
  }

  open(): RecordedWarning[] {
    return this.#select("WHERE ended_at_ms IS NULL");
  }

  ended(sinceMs: number): RecordedWarning[] {
    return this.#select("WHERE ended_at_ms >= ?", sinceMs);
  }

  /** About a coat, and about a place while it stood there, oldest first. */
  about(coatId: string, stays: readonly { place: string; fromMs: number; toMs: number }[]): RecordedWarning[] {
    const inPlace = "place = ? AND car_id IS NULL AND raised_at_ms < ? AND (ended_at_ms IS NULL OR ended_at_ms > ?)";
    const wanted = ["coat_id = ?", ...stays.map(() => `(${inPlace})`)];
    // SQLite has no infinity in an INTEGER column to compare with.
    const bound = stays.flatMap(({ place, fromMs, toMs }) => [place, Math.min(toMs, Number.MAX_SAFE_INTEGER), fromMs]);
    return this.#select(`WHERE ${wanted.join(" OR ")}`, coatId, ...bound);
  }

  #select(where: string, ...values: (string | number)[]): RecordedWarning[] {
    return this.#db
      .prepare<(string | number)[], WarningRow>(
        `SELECT id, rule, place, coat_id AS coatId, car_id AS carId, urgency, text, raised_at_ms AS raisedAtMs,
                ended_at_ms AS endedAtMs, answer, set_aside AS setAside
         FROM warnings ${where} ORDER BY raised_at_ms, rowid`,
      )
      .all(...values)
      .map((row) => ({
        ...row,
        text: JSON.parse(row.text) as Text,
        answer: row.answer === null ? null : (JSON.parse(row.answer) as RecordedWarning["answer"]),
        setAside: row.setAside === null ? null : (JSON.parse(row.setAside) as RecordedWarning["setAside"]),
      }));
  }
}
