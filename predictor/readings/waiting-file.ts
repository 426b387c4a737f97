/** Readings on their way to a store on another machine: in a SQLite file until they are there. */
import { openOrReplaceDatabase } from "../database.ts";
import { markFrom, markText } from "./mark-text.ts";
import type { Series, StoredReading } from "./store.ts";

const schema = `
  CREATE TABLE IF NOT EXISTS waiting (
    seq INTEGER PRIMARY KEY,
    collector TEXT NOT NULL,
    sensor TEXT NOT NULL,
    quantity TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    value REAL NOT NULL,
    mark TEXT, -- as in the store of readings
    UNIQUE (collector, sensor, quantity, at_ms)
  ) STRICT;`;

interface Row extends Series {
  seq: number;
  atMs: number;
  value: number;
  mark: string | null;
}

export interface WaitingReadings {
  readings: StoredReading[];
  /** Place in the file of the last of them. */
  upTo: number;
}

export class WaitingFile {
  readonly #database;
  readonly #insert;
  readonly #has;
  readonly #oldest;
  readonly #newest;
  readonly #drop;
  /** What was done about a damaged file. */
  readonly damage: string | null;
  #count: number;

  constructor(file: string) {
    const { database, damage } = openOrReplaceDatabase(file, schema, Date.now());
    this.damage = damage;
    this.#database = database;
    this.#insert = database.prepare<[string, string, string, number, number, string | null]>(
      "INSERT INTO waiting (collector, sensor, quantity, at_ms, value, mark) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
    );
    this.#has = database.prepare<[string, string, string, number]>(
      "SELECT 1 FROM waiting WHERE collector = ? AND sensor = ? AND quantity = ? AND at_ms = ?",
    );
    this.#oldest = database.prepare<[number], Row>(
      "SELECT seq, collector, sensor, quantity, at_ms AS atMs, value, mark FROM waiting ORDER BY seq LIMIT ?",
    );
    this.#newest = database.prepare<[], number | null>("SELECT max(seq) FROM waiting").pluck();
    this.#drop = database.prepare<[number]>("DELETE FROM waiting WHERE seq <= ?");
    this.#count = database.prepare<[], number>("SELECT count(*) FROM waiting").pluck().get() ?? 0;
  }

  /** How many wait. */
  get count(): number {
    return this.#count;
  }

  has({ collector, sensor, quantity, atMs }: StoredReading): boolean {
    return this.#has.get(collector, sensor, quantity, atMs) !== undefined;
  }

  /** On the disk when this returns, all or none; gives back those that did not wait already. */
  add(readings: readonly StoredReading[]): StoredReading[] {
    const fresh = this.#database.transaction(() =>
      readings.filter(
        ({ collector, sensor, quantity, atMs, value, mark }) =>
          this.#insert.run(collector, sensor, quantity, atMs, value, markText(mark)).changes === 1,
      ),
    )();
    this.#count += fresh.length;
    return fresh;
  }

  /** The first that came, so many at most. */
  oldest(atMost: number): WaitingReadings {
    const rows = this.#oldest.all(atMost);
    return { readings: rows.map(readingOf), upTo: rows.at(-1)?.seq ?? 0 };
  }

  /** Place of the newest; 0 where none waits. Places are given anew once nothing waits. */
  get newest(): number {
    return this.#newest.get() ?? 0;
  }

  /** Takes away those that have gone on, up to a place. */
  drop(upTo: number): void {
    this.#count -= this.#drop.run(upTo).changes;
  }

  close(): void {
    this.#database.close();
  }
}

function readingOf({ seq: _, mark, ...row }: Row): StoredReading {
  return mark === null ? row : { ...row, mark: markFrom(mark) };
}
