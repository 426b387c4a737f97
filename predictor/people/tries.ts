/**
 * How often a PIN may be tried. A wrong try on a device that the person has signed in on before counts for that device alone;
 * any other counts for the person and for the network address it came from. So nobody on the shop's network can lock a painter
 * out of the phone that painter uses, and guessing goes so slowly that it is hopeless. docs/people.md has the arithmetic.
 */
import type Database from "better-sqlite3";

export const triesTable = `
  -- Of an earlier version: a day's worth.
  DROP TABLE IF EXISTS wrong_tries;
  CREATE TABLE IF NOT EXISTS tries (
    id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, name TEXT NOT NULL, source TEXT NOT NULL, at_ms INTEGER NOT NULL
  ) STRICT;
  CREATE INDEX IF NOT EXISTS tries_by_count ON tries (kind, name, source);
  CREATE INDEX IF NOT EXISTS tries_by_kind ON tries (kind);
`;

/** What a try counts for: the name and the source it is counted under, each empty where all count together. */
export interface Count {
  kind: "device" | "person" | "unknown-name" | "address";
  name: string;
  source: string;
}

export const onDevice = (name: string, source: string): Count => ({ kind: "device", name, source });
export const elsewhere = (name: string): Count => ({ kind: "person", name, source: "" });
export const underUnknownName = (name: string): Count => ({ kind: "unknown-name", name, source: "" });
export const fromAddress = (source: string): Count => ({ kind: "address", name: "", source });

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
/** After the first wrong one that costs something the wait is this long, and doubles with each further one. */
const firstWaitMs = minuteMs;
const longestWaitMs = 60 * minuteMs;

interface Limit {
  /** So many wrong ones cost nothing: gloves slip. */
  free: number;
  aDay: number;
  /** A flood must not fill the disk. The waits bound what real people's rows there can be, so that no flood pushes them out. */
  rows: number;
}
const strange: Omit<Limit, "rows"> = { free: 4, aDay: 10 };
const limits: Record<Count["kind"], Limit> = {
  device: { free: 4, aDay: Number.POSITIVE_INFINITY, rows: Number.POSITIVE_INFINITY },
  person: { ...strange, rows: Number.POSITIVE_INFINITY },
  "unknown-name": { ...strange, rows: 5_000 },
  // Assumed: enough for a crew that signs in on new phones behind one address.
  address: { free: 10, aDay: Number.POSITIVE_INFINITY, rows: 5_000 },
};

export type Taken = readonly (number | bigint)[];

export class Tries {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** Until when no further try is taken under a count; null when one may be made now. */
  lockedUntilMs({ kind, name, source }: Count, nowMs: number): number | null {
    // The clock was set back: nobody is to wait until it has caught up.
    this.#db.prepare("UPDATE tries SET at_ms = ? WHERE at_ms > ?").run(nowMs, nowMs);
    const tries = this.#db
      .prepare<[string, string, string, number], { atMs: number }>(
        "SELECT at_ms AS atMs FROM tries WHERE kind = ? AND name = ? AND source = ? AND at_ms > ? ORDER BY at_ms",
      )
      .all(kind, name, source, nowMs - dayMs)
      .map(({ atMs }) => atMs);
    const { free, aDay } = limits[kind];
    const last = tries.at(-1);
    if (last === undefined || tries.length <= free) return null;
    const untilMs =
      tries.length >= aDay
        ? (tries[tries.length - aDay] ?? last) + dayMs
        : last + Math.min(longestWaitMs, firstWaitMs * 2 ** (tries.length - free - 1));
    return untilMs > nowMs ? untilMs : null;
  }

  /** Counts a try as wrong; gives what `giveBack` takes where it was not, or was not looked at. */
  take(counts: readonly Count[], nowMs: number): Taken {
    const take = this.#db.transaction(() => {
      this.#db.prepare("DELETE FROM tries WHERE at_ms <= ?").run(nowMs - dayMs);
      return counts.map((count) => this.#insert(count, nowMs));
    });
    return take.immediate();
  }

  giveBack(taken: Taken): void {
    for (const row of taken) this.#db.prepare("DELETE FROM tries WHERE id = ?").run(row);
  }

  /** After a right PIN the device starts anew; a new PIN forgives everywhere. */
  forgive(name: string, device?: string): void {
    if (device === undefined)
      this.#db.prepare("DELETE FROM tries WHERE name = ? AND kind IN ('person', 'device')").run(name);
    else this.#db.prepare("DELETE FROM tries WHERE kind = 'device' AND name = ? AND source = ?").run(name, device);
  }

  #insert({ kind, name, source }: Count, nowMs: number): number | bigint {
    const { lastInsertRowid } = this.#db
      .prepare("INSERT INTO tries (kind, name, source, at_ms) VALUES (?, ?, ?, ?)")
      .run(kind, name, source, nowMs);
    const { rows } = limits[kind];
    if (Number.isFinite(rows)) {
      this.#db
        .prepare(
          "DELETE FROM tries WHERE id IN (SELECT id FROM tries WHERE kind = ? ORDER BY id DESC LIMIT -1 OFFSET ?)",
        )
        .run(kind, rows);
    }
    return lastInsertRowid;
  }
}
