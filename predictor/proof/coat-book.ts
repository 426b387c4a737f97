/**
 * Every coat with what came of it, one row each, to filter and sort by. Nothing but the log and the readings is in it: a file that is lost or of
 * another version is made anew.
 */
import type Database from "better-sqlite3";
import { openOrReplaceDatabase } from "../database.ts";
import { type CoatFigures, type DeviationCode, deviationCodes } from "./coat-figures.ts";

/** To be raised with every change of the tables, and of what the figures are. */
const version = 1;
const tables = `
  CREATE TABLE IF NOT EXISTS seen (version INTEGER NOT NULL, seq INTEGER NOT NULL) STRICT;
  CREATE TABLE IF NOT EXISTS coats (
    coat TEXT PRIMARY KEY, car_id TEXT NOT NULL, job TEXT NOT NULL, car TEXT NOT NULL, panels TEXT NOT NULL,
    sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL, sheet_name TEXT NOT NULL, kind TEXT NOT NULL, invented INTEGER NOT NULL,
    place TEXT NOT NULL, who TEXT NOT NULL, finished_at_ms INTEGER NOT NULL, until_ms INTEGER NOT NULL, is_over INTEGER NOT NULL,
    release_stage TEXT NOT NULL, safe_at_ms INTEGER, verdict TEXT, is_withdrawn INTEGER NOT NULL,
    deviations TEXT NOT NULL, deviation_count INTEGER NOT NULL, open_deviations INTEGER NOT NULL, figures TEXT NOT NULL
  ) STRICT;
  CREATE INDEX IF NOT EXISTS coats_by_finish ON coats (finished_at_ms);
  CREATE INDEX IF NOT EXISTS coats_by_car ON coats (car_id);
  CREATE INDEX IF NOT EXISTS coats_not_over ON coats (is_over) WHERE is_over = 0;
  CREATE TABLE IF NOT EXISTS coat_panels (panel TEXT NOT NULL, coat TEXT NOT NULL, PRIMARY KEY (panel, coat)) STRICT, WITHOUT ROWID;
  CREATE INDEX IF NOT EXISTS coat_panels_by_coat ON coat_panels (coat);
`;

export interface BookRow {
  coat: string;
  carId: string;
  job: string;
  car: string;
  panels: string[];
  sheetId: string;
  sheetRevision: number;
  sheetName: string;
  kind: string;
  invented: boolean;
  /** Where it was finished. */
  place: string;
  who: string;
  finishedAtMs: number;
  /** When its release stage is safe; null while nobody can say. */
  safeAtMs: number | null;
  verdict: "released" | "held" | null;
  isWithdrawn: boolean;
  deviations: { code: DeviationCode; isAnswered: boolean }[];
  figures: CoatFigures;
}

export const bookStates = ["drying", "ready", "released", "held", "withdrawn"] as const;
export type BookState = (typeof bookStates)[number];

/** How a coat stands at an instant. */
export function bookState(row: Pick<BookRow, "isWithdrawn" | "verdict" | "safeAtMs">, nowMs: number): BookState {
  if (row.isWithdrawn) return "withdrawn";
  return row.verdict ?? (row.safeAtMs !== null && row.safeAtMs <= nowMs ? "ready" : "drying");
}

export interface BookQuery {
  fromMs?: number | undefined;
  toMs?: number | undefined;
  /** Part of the job number or the car's name. */
  car?: string | undefined;
  panel?: string | undefined;
  sheet?: string | undefined;
  place?: string | undefined;
  who?: string | undefined;
  deviation?: DeviationCode | "any" | "open" | undefined;
  state?: BookState | undefined;
  sort: BookSort;
  order: "down" | "up";
}

const stateSql = `CASE WHEN is_withdrawn = 1 THEN 'withdrawn' WHEN verdict IS NOT NULL THEN verdict
  WHEN safe_at_ms IS NOT NULL AND safe_at_ms <= @nowMs THEN 'ready' ELSE 'drying' END`;
const sortSql = {
  finished: [],
  car: ["car COLLATE NOCASE"],
  sheet: ["sheet_name COLLATE NOCASE"],
  place: ["place"],
  who: ["who COLLATE NOCASE"],
  deviations: ["open_deviations", "deviation_count"],
  state: [stateSql],
} as const;
export type BookSort = keyof typeof sortSql;
export const bookSorts = Object.keys(sortSql) as BookSort[];

const columns = `coat, car_id AS carId, job, car, panels, sheet_id AS sheetId, sheet_revision AS sheetRevision, sheet_name AS sheetName, kind, invented,
  place, who, finished_at_ms AS finishedAtMs, safe_at_ms AS safeAtMs, verdict, is_withdrawn AS isWithdrawn, deviations, figures`;
type Kept = Omit<BookRow, "panels" | "invented" | "isWithdrawn" | "deviations" | "figures"> &
  Record<"panels" | "deviations" | "figures", string> &
  Record<"invented" | "isWithdrawn", number>;
type Bound = Record<string, string | number>;

export interface BookChoices {
  panels: string[];
  sheets: { id: string; name: string }[];
  people: string[];
}

export class CoatBook {
  readonly #db: Database.Database;
  readonly #one: Database.Statement<[string], Kept>;
  #choices: BookChoices | null = null;

  /** Made anew where it is absent, damaged or of another version. `":memory:"` lasts until it is closed. */
  constructor(file: string, nowMs: number) {
    this.#db = openOrReplaceDatabase(file, tables, nowMs).database;
    const kept = this.#db.prepare<[], { version: number }>("SELECT version FROM seen").get();
    if (kept?.version !== version) this.#begin();
    this.#one = this.#db.prepare(`SELECT ${columns} FROM coats WHERE coat = ?`);
  }

  #begin(): void {
    this.#db.transaction(() => {
      for (const table of ["seen", "coats", "coat_panels"]) this.#db.exec(`DROP TABLE ${table}`);
      this.#db.exec(tables);
      this.#db.prepare("INSERT INTO seen VALUES (?, 0)").run(version);
    })();
  }

  close(): void {
    this.#db.close();
  }

  /** The last entry of the log that is in the book. */
  get seenSeq(): number {
    return this.#db.prepare<[], { seq: number }>("SELECT seq FROM seen").get()?.seq ?? 0;
  }

  saw(seq: number): void {
    this.#db.prepare("UPDATE seen SET seq = ?").run(seq);
  }

  /** Puts rows in, in the place of those of the same coats. */
  put(rows: readonly BookRow[]): void {
    const insert = this.#prepared(
      "INSERT OR REPLACE INTO coats VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
    );
    const clear = this.#prepared("DELETE FROM coat_panels WHERE coat = ?");
    const panel = this.#prepared("INSERT OR IGNORE INTO coat_panels VALUES (?, ?)");
    this.#db.transaction(() => {
      for (const row of rows) {
        const { figures, deviations, panels } = row;
        insert.run(
          ...[
            row.coat,
            row.carId,
            row.job,
            row.car,
            JSON.stringify(panels),
            row.sheetId,
            row.sheetRevision,
            row.sheetName,
          ],
          ...[
            row.kind,
            Number(row.invented),
            row.place,
            row.who,
            row.finishedAtMs,
            figures.untilMs,
            Number(figures.isOver),
          ],
          ...[figures.releaseStage, row.safeAtMs, row.verdict, Number(row.isWithdrawn), JSON.stringify(deviations)],
          ...[deviations.length, deviations.filter(({ isAnswered }) => !isAnswered).length, JSON.stringify(figures)],
        );
        clear.run(row.coat);
        for (const name of panels) panel.run(name, row.coat);
      }
    })();
    this.#choices = null;
  }

  row(coat: string): BookRow | null {
    const kept = this.#one.get(coat);
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
    const coats = this.#db.prepare<[Bound], string>(`SELECT coat FROM coats ${where} ${order}`).pluck().all(bound);
    const atOnce = 500;
    for (let from = 0; from < coats.length; from += atOnce) {
      yield coats.slice(from, from + atOnce).flatMap((coat) => {
        const kept = this.#one.get(coat);
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

/** A question as SQL. Every value is bound; what is not is named here. */
function asked(query: BookQuery, nowMs: number): { where: string; order: string; bound: Bound } {
  const { fromMs, toMs, car, panel, sheet, place, who, deviation, state, sort, order } = query;
  const wanted: [sql: string, bound: Bound][] = [];
  if (fromMs !== undefined) wanted.push(["finished_at_ms >= @fromMs", { fromMs }]);
  if (toMs !== undefined) wanted.push(["finished_at_ms < @toMs", { toMs }]);
  if (car !== undefined) {
    wanted.push([
      "(job LIKE @car ESCAPE '\\' OR car LIKE @car ESCAPE '\\')",
      { car: `%${car.replaceAll(/[\\%_]/g, "\\$&")}%` },
    ]);
  }
  if (panel !== undefined) wanted.push(["coat IN (SELECT coat FROM coat_panels WHERE panel = @panel)", { panel }]);
  if (sheet !== undefined) wanted.push(["sheet_id = @sheet", { sheet }]);
  if (place !== undefined) wanted.push(["place = @place", { place }]);
  if (who !== undefined) wanted.push(["who = @who", { who }]);
  if (deviation === "any") wanted.push(["deviation_count > 0", {}]);
  else if (deviation === "open") wanted.push(["open_deviations > 0", {}]);
  else if (deviation !== undefined && deviationCodes.includes(deviation)) {
    wanted.push(["instr(deviations, @deviation) > 0", { deviation: JSON.stringify(deviation) }]);
  }
  if (state !== undefined) wanted.push([`${stateSql} = @state`, { state }]);
  const direction = order === "down" ? "DESC" : "ASC";
  return {
    where: wanted.length === 0 ? "" : `WHERE ${wanted.map(([sql]) => sql).join(" AND ")}`,
    order: `ORDER BY ${[...sortSql[sort], "finished_at_ms", "coat"].map((key) => `${key} ${direction}`).join(", ")}`,
    bound: Object.assign({ nowMs }, ...wanted.map(([, bound]) => bound)) as Bound,
  };
}
