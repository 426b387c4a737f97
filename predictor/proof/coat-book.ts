/**
 * Every coat with what came of it, one row each, to filter and sort by. In a shop's own nothing but the log and the readings is in it, and in a
 * head office's nothing but what the shops tell: a file that is lost or of another version is made anew.
 */
import { randomUUID } from "node:crypto";
import type Database from "better-sqlite3";
import { openOrReplaceDatabase } from "../database.ts";
import { Listeners } from "../records/listeners.ts";
import { asked, type BookQuery, type Bound } from "./book-query.ts";
import type { BookRow } from "./book-row.ts";
import type { CoatFigures } from "./coat-figures.ts";

/** To be raised with every change of the tables, and of what the figures are. */
const version = 2;
const tables = `
  CREATE TABLE seen (version INTEGER NOT NULL, seq INTEGER NOT NULL, epoch TEXT NOT NULL) STRICT;
  CREATE TABLE shops (shop TEXT PRIMARY KEY, epoch TEXT NOT NULL, number INTEGER NOT NULL) STRICT;
  CREATE TABLE coats (
    number INTEGER NOT NULL UNIQUE, shop TEXT NOT NULL,
    coat TEXT NOT NULL, car_id TEXT NOT NULL, job TEXT NOT NULL, car TEXT NOT NULL, panels TEXT NOT NULL,
    sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL, sheet_name TEXT NOT NULL, kind TEXT NOT NULL, invented INTEGER NOT NULL,
    place TEXT NOT NULL, who TEXT NOT NULL, finished_at_ms INTEGER NOT NULL, until_ms INTEGER NOT NULL, is_over INTEGER NOT NULL,
    release_stage TEXT NOT NULL, safe_at_ms INTEGER, verdict TEXT, is_withdrawn INTEGER NOT NULL,
    deviations TEXT NOT NULL, deviation_count INTEGER NOT NULL, open_deviations INTEGER NOT NULL, figures TEXT NOT NULL,
    PRIMARY KEY (shop, coat)
  ) STRICT;
  CREATE INDEX coats_by_finish ON coats (finished_at_ms);
  CREATE INDEX coats_by_car ON coats (car_id);
  CREATE INDEX coats_not_over ON coats (is_over) WHERE is_over = 0;
  CREATE TABLE coat_panels (
    panel TEXT NOT NULL, shop TEXT NOT NULL, coat TEXT NOT NULL, PRIMARY KEY (panel, shop, coat)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX coat_panels_by_coat ON coat_panels (shop, coat);
`;

const columns = `shop, coat, car_id AS carId, job, car, panels, sheet_id AS sheetId, sheet_revision AS sheetRevision, sheet_name AS sheetName, kind,
  invented, place, who, finished_at_ms AS finishedAtMs, safe_at_ms AS safeAtMs, verdict, is_withdrawn AS isWithdrawn, deviations, figures`;
type Kept = Omit<BookRow, "panels" | "invented" | "isWithdrawn" | "deviations" | "figures"> &
  Record<"panels" | "deviations" | "figures", string> &
  Record<"invented" | "isWithdrawn", number>;

export interface BookChoices {
  panels: string[];
  sheets: { id: string; name: string }[];
  people: string[];
}

/** How far a shop's book is held elsewhere: up to which number, of the book that was begun as this epoch. */
export interface BookMark {
  epoch: string;
  number: number;
}

/** A row with the number of its last change; numbers only grow. */
export interface NumberedRow {
  number: number;
  row: BookRow;
}

export class CoatBook {
  readonly #db: Database.Database;
  readonly #one: Database.Statement<[shop: string, coat: string], Kept>;
  readonly #listeners = new Listeners<[]>();
  #choices: BookChoices | null = null;

  /** Made anew where it is absent, damaged or of another version. `":memory:"` lasts until it is closed. */
  constructor(file: string, nowMs: number) {
    this.#db = openOrReplaceDatabase(file, prepare, nowMs).database;
    this.#one = this.#db.prepare(`SELECT ${columns} FROM coats WHERE shop = ? AND coat = ?`);
  }

  close(): void {
    this.#db.close();
  }

  /** Another one for each book that is begun. */
  get epoch(): string {
    return this.#db.prepare<[], string>("SELECT epoch FROM seen").pluck().get() ?? "";
  }

  /** The last entry of the log that is in the book. */
  get seenSeq(): number {
    return this.#db.prepare<[], { seq: number }>("SELECT seq FROM seen").get()?.seq ?? 0;
  }

  saw(seq: number): void {
    this.#db.prepare("UPDATE seen SET seq = ?").run(seq);
  }

  /** Calls back after rows were put in; the function returned ends it. */
  onPut(listener: () => void): () => void {
    return this.#listeners.add(listener);
  }

  /** Puts rows in, in the place of those of the same coats. */
  put(rows: readonly BookRow[]): void {
    this.#db.transaction(() => this.#put(rows))();
    this.#changed();
  }

  /** Rows that were put in after the one of a number, oldest first, so many at the most. */
  changedAfter(number: number, most: number): NumberedRow[] {
    return this.#db
      .prepare<[number, number], Kept & { number: number }>(
        `SELECT number, ${columns} FROM coats WHERE number > ? ORDER BY number LIMIT ?`,
      )
      .all(number, most)
      .map(({ number: of, ...kept }) => ({ number: of, row: rowOf(kept) }));
  }

  /** The number of the last change; 0 in an empty book. */
  get lastNumber(): number {
    return this.#db.prepare<[], number | null>("SELECT max(number) FROM coats").pluck().get() ?? 0;
  }

  /** How far another shop's book is held in this one. */
  heldOf(shop: string): BookMark {
    const sql = "SELECT epoch, number FROM shops WHERE shop = ?";
    return this.#db.prepare<[string], BookMark>(sql).get(shop) ?? { epoch: "", number: 0 };
  }

  /**
   * Takes rows of another shop's book, those that follow the number `after` in it. Where they are of another epoch than what is held,
   * they replace all of it. False, and nothing is taken, where rows between are missing.
   */
  take(shop: string, { epoch, after, rows }: { epoch: string; after: number; rows: readonly NumberedRow[] }): boolean {
    const held = this.heldOf(shop);
    const isSame = held.epoch === epoch;
    if (!(after <= (isSame ? held.number : 0))) return false;
    const fresh = rows.filter(({ number }) => !isSame || number > held.number);
    const number = fresh.at(-1)?.number ?? (isSame ? held.number : 0);
    this.#db.transaction(() => {
      if (!isSame)
        for (const table of ["coats", "coat_panels"]) this.#prepared(`DELETE FROM ${table} WHERE shop = ?`).run(shop);
      this.#put(fresh.map(({ row }) => ({ ...row, shop })));
      this.#prepared("INSERT OR REPLACE INTO shops VALUES (?, ?, ?)").run(shop, epoch, number);
    })();
    this.#changed();
    return true;
  }

  #changed(): void {
    this.#choices = null;
    this.#listeners.tell();
  }

  #put(rows: readonly BookRow[]): void {
    const insert = this.#prepared(`INSERT OR REPLACE INTO coats VALUES (${Array(25).fill("?").join(", ")})`);
    const clear = this.#prepared("DELETE FROM coat_panels WHERE shop = ? AND coat = ?");
    const panel = this.#prepared("INSERT OR IGNORE INTO coat_panels VALUES (?, ?, ?)");
    let number = this.lastNumber;
    for (const row of rows) {
      const { shop, coat, figures, deviations, panels } = row;
      number += 1;
      insert.run(
        ...[number, shop, coat, row.carId, row.job, row.car, JSON.stringify(panels)],
        ...[row.sheetId, row.sheetRevision, row.sheetName, row.kind, Number(row.invented), row.place, row.who],
        ...[row.finishedAtMs, figures.untilMs, Number(figures.isOver), figures.releaseStage, row.safeAtMs],
        ...[row.verdict, Number(row.isWithdrawn), JSON.stringify(deviations), deviations.length],
        ...[deviations.filter(({ isAnswered }) => !isAnswered).length, JSON.stringify(figures)],
      );
      clear.run(shop, coat);
      for (const name of panels) panel.run(name, shop, coat);
    }
  }

  row(shop: string, coat: string): BookRow | null {
    const kept = this.#one.get(shop, coat);
    return kept === undefined ? null : rowOf(kept);
  }

  /** How many fit, and those of one page. */
  page(query: BookQuery, nowMs: number, page: { from: number; size: number }): { total: number; rows: BookRow[] } {
    const { where, order, bound } = asked(query, nowMs);
    const total =
      this.#db.prepare<[Bound], { n: number }>(`SELECT count(*) AS n FROM coats ${where}`).get(bound)?.n ?? 0;
    const sql = `SELECT ${columns} FROM coats ${where} ${order} LIMIT @size OFFSET @from`;
    const rows = this.#db.prepare<[Bound], Kept>(sql).all({ ...bound, ...page });
    return { total, rows: rows.map(rowOf) };
  }

  /** All that fit, in pieces, so that other work comes in between; a coat that is put in meanwhile may be missing. */
  *all(query: BookQuery, nowMs: number): Generator<BookRow[]> {
    const { where, order, bound } = asked(query, nowMs);
    const coats = this.#db
      .prepare<[Bound], Pick<BookRow, "shop" | "coat">>(`SELECT shop, coat FROM coats ${where} ${order}`)
      .all(bound);
    const atOnce = 500;
    for (let from = 0; from < coats.length; from += atOnce) {
      yield coats.slice(from, from + atOnce).flatMap(({ shop, coat }) => {
        const kept = this.#one.get(shop, coat);
        return kept === undefined ? [] : [rowOf(kept)];
      });
    }
  }

  /** What one can filter by. */
  choices(): BookChoices {
    const list = (sql: string) => this.#db.prepare<[], string>(sql).pluck().all();
    this.#choices ??= {
      panels: list("SELECT DISTINCT panel FROM coat_panels ORDER BY panel"),
      sheets: this.#db
        .prepare<[], { id: string; name: string }>(
          "SELECT sheet_id AS id, max(sheet_name) AS name FROM coats GROUP BY sheet_id ORDER BY name",
        )
        .all(),
      people: list("SELECT DISTINCT who FROM coats ORDER BY who COLLATE NOCASE"),
    };
    return this.#choices;
  }

  /** Cars with a coat whose figures still change. */
  carsNotOver(): string[] {
    return this.#db.prepare<[], string>("SELECT DISTINCT car_id FROM coats WHERE is_over = 0").pluck().all();
  }

  /** Cars with a coat whose time that counts was on between two instants. */
  carsBetween(fromMs: number, toMs: number): string[] {
    const sql = "SELECT DISTINCT car_id FROM coats WHERE finished_at_ms <= ? AND until_ms >= ?";
    return this.#db.prepare<[number, number], string>(sql).pluck().all(toMs, fromMs);
  }

  /** Their figures may change after all: this outlasts the end of the program. */
  reopen(carIds: readonly string[]): void {
    const reopen = this.#prepared("UPDATE coats SET is_over = 0 WHERE car_id = ?");
    this.#db.transaction(() => {
      for (const carId of carIds) reopen.run(carId);
    })();
  }

  #prepared(sql: string): Database.Statement<(string | number | null)[]> {
    return this.#db.prepare<(string | number | null)[]>(sql);
  }
}

function prepare(db: Database.Database): void {
  const isKept = db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'seen'").get() !== undefined;
  const kept = isKept ? db.prepare<[], { version: number }>("SELECT version FROM seen").get() : undefined;
  if (kept?.version === version) return;
  db.transaction(() => {
    for (const table of ["seen", "shops", "coats", "coat_panels"]) db.exec(`DROP TABLE IF EXISTS ${table}`);
    db.exec(tables);
    db.prepare("INSERT INTO seen VALUES (?, 0, ?)").run(version, randomUUID());
  })();
}

function rowOf({ panels, deviations, figures, invented, isWithdrawn, ...row }: Kept): BookRow {
  return {
    ...row,
    invented: invented === 1,
    isWithdrawn: isWithdrawn === 1,
    panels: JSON.parse(panels) as string[],
    deviations: JSON.parse(deviations) as BookRow["deviations"],
    figures: JSON.parse(figures) as CoatFigures,
  };
}
