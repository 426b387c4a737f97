/**
 * How often a PIN may be tried. Wrong tries count for a person on a device that the person has signed in on before, or for
 * all other devices together: so nobody on the shop's network can lock a painter out of the phone that painter uses, and
 * guessing goes so slowly that it is hopeless. docs/people.md has the arithmetic.
 */
import type Database from "better-sqlite3";

export const triesTable = `
  CREATE TABLE IF NOT EXISTS wrong_tries (name TEXT NOT NULL COLLATE NOCASE, device TEXT NOT NULL, at_ms INTEGER NOT NULL) STRICT;
  CREATE INDEX IF NOT EXISTS wrong_tries_by_name ON wrong_tries (name, device);
`;

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
/** So many wrong ones cost nothing: gloves slip. */
const freeTries = 4;
/** After the next the wait is this long, and doubles with each further one. */
const firstWaitMs = minuteMs;
const longestWaitMs = 60 * minuteMs;
/** From devices that the person has never signed in on, all together, in a day. */
const strangeTriesADay = 10;
/** A flood of invented names must not fill the disk. */
const rowsAtMost = 5_000;

/** All devices that a person has never signed in on. */
const strange = "";

export class Tries {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** Until when no further try is taken; null when one may be made now. `device`: null for one the person never signed in on. */
  lockedUntilMs(name: string, device: string | null, nowMs: number): number | null {
    const tries = this.#db
      .prepare<[string, string, number], { atMs: number }>(
        "SELECT at_ms AS atMs FROM wrong_tries WHERE name = ? AND device = ? AND at_ms > ? ORDER BY at_ms",
      )
      .all(name, device ?? strange, nowMs - dayMs)
      .map(({ atMs }) => atMs);
    const last = tries.at(-1);
    if (last === undefined || tries.length <= freeTries) return null;
    const dayFull = device === null && tries.length >= strangeTriesADay;
    const untilMs = dayFull
      ? (tries[tries.length - strangeTriesADay] ?? last) + dayMs
      : last + Math.min(longestWaitMs, firstWaitMs * 2 ** (tries.length - freeTries - 1));
    return untilMs > nowMs ? untilMs : null;
  }

  /** Counts a try as wrong; gives what `giveBack` takes where it was not, or was not looked at. */
  take(name: string, device: string | null, nowMs: number): number | bigint {
    this.#db.prepare("DELETE FROM wrong_tries WHERE at_ms <= ?").run(nowMs - dayMs);
    const { lastInsertRowid } = this.#db
      .prepare("INSERT INTO wrong_tries (name, device, at_ms) VALUES (?, ?, ?)")
      .run(name, device ?? strange, nowMs);
    this.#db.prepare("DELETE FROM wrong_tries WHERE rowid <= (SELECT max(rowid) FROM wrong_tries) - ?").run(rowsAtMost);
    return lastInsertRowid;
  }

  giveBack(taken: number | bigint): void {
    this.#db.prepare("DELETE FROM wrong_tries WHERE rowid = ?").run(taken);
  }

  /** After a right PIN the device starts anew; a new PIN forgives everywhere. */
  forgive(name: string, device?: string): void {
    if (device === undefined) this.#db.prepare("DELETE FROM wrong_tries WHERE name = ?").run(name);
    else this.#db.prepare("DELETE FROM wrong_tries WHERE name = ? AND device = ?").run(name, device);
  }
}
