/**
 * Readings that the head office has not acknowledged yet, in the order committed. They enter in the transaction that stores them, so none is
 * missed, and leave in groups: what a kill leaves behind is sent once more, and known there.
 */
import type Database from "better-sqlite3";
import { type SampleRow, sampleOf } from "./sample-row.ts";
import type { StoredReading } from "./store.ts";

export const onwardTable = `
  CREATE TABLE IF NOT EXISTS onward (
    number INTEGER PRIMARY KEY, series INTEGER NOT NULL, at_ms INTEGER NOT NULL, value REAL NOT NULL, mark TEXT
  ) STRICT;
`;

/** Some ten days of a shop with twelve quantities a second. The oldest beyond it are dropped, and counted. */
const waitingAtMost = 10_000_000;
const removedWithinMs = 2_000;

export interface QueuedReading {
  /** Grows from one to the next, for as long as the program runs. */
  number: number;
  reading: StoredReading;
}

/** Spans of numbers that were taken out, and rows that were in them. */
interface Cleared {
  spans: number;
  rows: number;
}

type Row = SampleRow & { number: number } & Pick<StoredReading, "collector" | "sensor" | "quantity">;

export class OnwardQueue {
  readonly #db: Database.Database;
  readonly #insert: Database.Statement<[number, number, number, number, string | null]>;
  readonly #between: Database.Statement<[from: number, to: number, most: number], Row>;
  readonly #removeBetween: Database.Statement<[from: number, to: number]>;
  readonly #most: number;
  /** Acknowledged, and still in the table. */
  #leaving: { from: number; to: number }[] = [];
  #timer: NodeJS.Timeout | null = null;
  #nextNumber: number;
  #count: number;
  #dropped = 0;

  /** `db` has the table. */
  constructor(db: Database.Database, most = waitingAtMost) {
    this.#db = db;
    this.#most = most;
    this.#insert = db.prepare("INSERT INTO onward VALUES (?, ?, ?, ?, ?)");
    this.#between = db.prepare(
      `SELECT number, collector, sensor, quantity, at_ms AS atMs, value, mark FROM onward JOIN series ON series.id = series
       WHERE number >= ? AND number < ? ORDER BY number LIMIT ?`,
    );
    this.#removeBetween = db.prepare("DELETE FROM onward WHERE number >= ? AND number <= ?");
    const { count, last } = db
      .prepare<[], { count: number; last: number | null }>("SELECT count(*) AS count, max(number) AS last FROM onward")
      .get() ?? { count: 0, last: null };
    this.#count = count;
    this.#nextNumber = (last ?? 0) + 1;
  }

  /** Readings that wait for their receipt, or got it within the last seconds. */
  get count(): number {
    return this.#count;
  }

  /** Readings dropped since the start because there were too many. */
  get dropped(): number {
    return this.#dropped;
  }

  /** The number that the next reading gets. */
  get nextNumber(): number {
    return this.#nextNumber;
  }

  /** Part of the transaction that stores the reading; to be followed by `committed` once that has succeeded. */
  add(series: number, atMs: number, value: number, mark: string | null): void {
    this.#insert.run(this.#nextNumber++, series, atMs, value, mark);
  }

  /** Part of the same transaction: takes out what was acknowledged. */
  clear(): Cleared {
    const removed = this.#leaving.map(({ from, to }) => this.#removeBetween.run(from, to).changes);
    return { spans: removed.length, rows: removed.reduce((sum, rows) => sum + rows, 0) };
  }

  /** After the transaction: how many were added in it, and what `clear` gave. */
  committed(added: number, { spans, rows }: Cleared): void {
    this.#count += added - rows;
    this.#leaving.splice(0, spans);
    if (this.#count > this.#most) this.#dropOldest();
  }

  /** Numbers from one to before another, so many at the most. */
  between(from: number, before: number, most: number): QueuedReading[] {
    return this.#between.all(from, before, most).map(({ number, collector, sensor, quantity, ...row }) => ({
      number,
      reading: { collector, sensor, quantity, ...sampleOf(row) },
    }));
  }

  /** Those with numbers from one to another were acknowledged: they leave within seconds, and must not be asked for again. */
  remove(from: number, to: number): void {
    this.#leaving.push({ from, to });
    this.#timer ??= setTimeout(() => this.#clearNow(), removedWithinMs).unref();
  }

  /** To be called before the database is closed. */
  close(): void {
    this.#clearNow();
  }

  #clearNow(): void {
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
    try {
      this.committed(0, this.#db.transaction(() => this.clear())());
    } catch {
      // A full disk: they go with the next readings that can be stored.
    }
  }

  #dropOldest(): void {
    const surplus = this.#count - this.#most + Math.ceil(this.#most / 100);
    const upTo = this.#db
      .prepare<[number], number>("SELECT number FROM onward ORDER BY number LIMIT 1 OFFSET ?")
      .pluck()
      .get(surplus);
    if (upTo === undefined) return;
    const dropped = this.#db.prepare("DELETE FROM onward WHERE number < ?").run(upTo).changes;
    this.#count -= dropped;
    this.#dropped += dropped;
  }
}
