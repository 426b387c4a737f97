/**
 * The log that everything is recorded in: append-only, each entry bound to the one before by its hash. An entry is RFC 8785
 * canonical JSON; its hash is the SHA-256 of those bytes. What it proves, and what not, is said in docs/records.md.
 */
import { createHash } from "node:crypto";
import type Database from "better-sqlite3";
import canonicalize from "canonicalize";
import { z } from "zod";
import { type ClockState, clockStates } from "../../collector/readings.ts";
import { type Kind, kinds, type What, whatSchemas } from "./entry-kinds.ts";
import { conflict } from "./record-fault.ts";

export const byRoles = ["painter", "quality", "installer", "program"] as const;

/** Who makes an entry. */
export interface By {
  who: string;
  role: (typeof byRoles)[number];
  /** Of the entry, from whoever sent it: a second one with the same key is not taken. */
  key?: string | undefined;
}

/** For what no person enters. */
export const program: By = { who: "Coatclock", role: "program" };

/** One entry, of one kind. */
export type EntryOf<K extends Kind> = {
  seq: number;
  /** When it was made, ISO 8601 in UTC. */
  at: string;
  /** Whether the machine's clock could be believed then. */
  clock: ClockState;
  who: string;
  role: By["role"];
  key?: string;
  kind: K;
  what: What<K>;
  /** Hash of the entry before; 64 zeros in the first. */
  previous: string;
  /** SHA-256 of all the others as canonical JSON; not itself part of that. */
  hash: string;
};
export type LogEntry = { [K in Kind]: EntryOf<K> }[Kind];

export interface Head {
  seq: number;
  hash: string;
  atMs: number;
}

export const noHash = "0".repeat(64);

export const logTables = `
  CREATE TABLE IF NOT EXISTS log (seq INTEGER PRIMARY KEY, entry TEXT NOT NULL, hash TEXT NOT NULL) STRICT;
  CREATE UNIQUE INDEX IF NOT EXISTS log_keys ON log (json_extract(entry, '$.key'));
  CREATE INDEX IF NOT EXISTS log_cars ON log (json_extract(entry, '$.what.carId'));
  CREATE TRIGGER IF NOT EXISTS log_is_not_changed BEFORE UPDATE ON log
    BEGIN SELECT RAISE(ABORT, 'the log is append-only: an entry is never changed'); END;
  CREATE TRIGGER IF NOT EXISTS log_is_not_cut BEFORE DELETE ON log
    BEGIN SELECT RAISE(ABORT, 'the log is append-only: an entry is never removed'); END;
  CREATE TRIGGER IF NOT EXISTS log_has_no_gaps BEFORE INSERT ON log
    WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM log)
    BEGIN SELECT RAISE(ABORT, 'the log is append-only: an entry comes after the last one'); END;
`;

const envelopeSchema = z.strictObject({
  seq: z.number().int().positive(),
  at: z.iso.datetime(),
  clock: z.enum(clockStates),
  who: z.string().min(1),
  role: z.enum(byRoles),
  key: z.string().min(1).exactOptional(),
  kind: z.enum(kinds as [Kind, ...Kind[]]),
  what: z.unknown(),
  previous: z.string().regex(/^[0-9a-f]{64}$/),
});

/** RFC 8785 canonical JSON. Throws where a value has none: NaN, infinities, half a surrogate pair. */
export function canonical(value: unknown): string {
  const json = canonicalize(value);
  if (json === undefined) throw new TypeError("nothing has no canonical JSON");
  return json;
}

export function hashOf(entry: string | Uint8Array): string {
  return createHash("sha256").update(entry).digest("hex");
}

/** Reads an entry back from its text. Throws where it is none by the schemas; hash and place in the chain are not looked at. */
export function readEntry(entry: string, hash: string): LogEntry {
  const { what, ...envelope } = envelopeSchema.parse(JSON.parse(entry));
  return { ...envelope, what: whatSchemas[envelope.kind].parse(what), hash } as LogEntry;
}

/** A number that has no JSON is refused by the schemas; what is left is half of a surrogate pair in a text. */
function written(content: object): string {
  try {
    return canonical(content);
  } catch {
    throw conflict("record-fault.half-character");
  }
}

interface Row {
  entry: string;
  hash: string;
}

/** An entry as it is written: the text that its hash is of. */
export interface Written extends Row {
  seq: number;
}

export class Log {
  readonly #db: Database.Database;
  readonly #insert: Database.Statement<[number, string, string]>;
  readonly #last: Database.Statement<[], Row & { seq: number }>;

  /** `db` has the tables of `logTables`. */
  constructor(db: Database.Database) {
    this.#db = db;
    this.#insert = db.prepare("INSERT INTO log (seq, entry, hash) VALUES (?, ?, ?)");
    this.#last = db.prepare("SELECT seq, entry, hash FROM log ORDER BY seq DESC LIMIT 1");
  }

  /** Appends an entry; RecordFault where its key is known or its text has no canonical form. Part of the caller's transaction. */
  append<K extends Kind>(kind: K, what: What<K>, by: By, made: { atMs: number; clock: ClockState }): EntryOf<K> {
    const last = this.#last.get();
    const content = {
      seq: (last?.seq ?? 0) + 1,
      at: new Date(made.atMs).toISOString(),
      clock: made.clock,
      who: by.who,
      role: by.role,
      ...(by.key === undefined ? {} : { key: by.key }),
      kind,
      what: whatSchemas[kind].parse(what) as What<K>,
      previous: last?.hash ?? noHash,
    };
    const entry = written(envelopeSchema.parse(content));
    const hash = hashOf(entry);
    try {
      this.#insert.run(content.seq, entry, hash);
    } catch (error) {
      if (isKeyKnown(error)) throw conflict("record-fault.entered-already");
      throw error;
    }
    // As it is read back: the order of what is in it is then that of the log, too.
    return readEntry(entry, hash) as unknown as EntryOf<K>;
  }

  head(): Head | null {
    const last = this.#last.get();
    if (last === undefined) return null;
    return { seq: last.seq, hash: last.hash, atMs: Date.parse(readEntry(last.entry, last.hash).at) };
  }

  /** Entries after one, verbatim, oldest first: as many as have so many characters, and one at the least. */
  writtenAfter(seq: number, charactersAtMost: number): Written[] {
    const taken: Written[] = [];
    let characters = 0;
    const rows = this.#db.prepare<[number], Written>("SELECT seq, entry, hash FROM log WHERE seq > ? ORDER BY seq");
    for (const row of rows.iterate(seq)) {
      characters += row.entry.length;
      if (taken.length > 0 && !(characters <= charactersAtMost)) break;
      taken.push(row);
    }
    return taken;
  }

  /** An entry's hash as it is stored; null where there is no such entry. */
  hashAt(seq: number): string | null {
    return this.#db.prepare<[number], string>("SELECT hash FROM log WHERE seq = ?").pluck().get(seq) ?? null;
  }

  /** Adds an entry that was made elsewhere, verbatim. Part of the caller's transaction; the caller has checked it. */
  take({ seq, entry, hash }: Written): void {
    this.#insert.run(seq, entry, hash);
  }

  knows(key: string): boolean {
    return this.#db.prepare("SELECT 1 FROM log WHERE json_extract(entry, '$.key') = ?").get(key) !== undefined;
  }

  /** Whether the entry with this key says just that, by the same person. */
  says(kind: Kind, what: object, { who, key }: By): boolean {
    if (key === undefined) return false;
    const row = this.#db
      .prepare<[string], Row>("SELECT entry, hash FROM log WHERE json_extract(entry, '$.key') = ?")
      .get(key);
    if (row === undefined) return false;
    const entry = readEntry(row.entry, row.hash);
    return entry.kind === kind && entry.who === who && canonical(entry.what) === canonical(what);
  }

  /** All entries, oldest first. Read in pages, so that the tables can be written to meanwhile. */
  *entries(): Generator<LogEntry> {
    const page = this.#db.prepare<[number], Row>("SELECT entry, hash FROM log WHERE seq > ? ORDER BY seq LIMIT 500");
    let rows = page.all(0);
    for (let seq = 0; rows.length > 0; rows = page.all(seq)) {
      for (const { entry, hash } of rows) {
        const read = readEntry(entry, hash);
        seq = read.seq;
        yield read;
      }
    }
  }

  /** Cars that entries after one are about, and the last entry there is. */
  carsSince(seq: number): { lastSeq: number; carIds: string[] } {
    // With DISTINCT here SQLite would go through the index of all cars instead of the few entries.
    const carIds = this.#db
      .prepare<[number], string | null>("SELECT json_extract(entry, '$.what.carId') FROM log WHERE seq > ?")
      .pluck()
      .all(seq);
    const about = new Set(carIds.filter((carId) => carId !== null));
    return { lastSeq: this.#last.get()?.seq ?? 0, carIds: [...about] };
  }

  /** Those about a car and its coats, oldest first. */
  ofCar(carId: string): LogEntry[] {
    return this.#db
      .prepare<[string], Row>("SELECT entry, hash FROM log WHERE json_extract(entry, '$.what.carId') = ? ORDER BY seq")
      .all(carId)
      .map(({ entry, hash }) => readEntry(entry, hash));
  }
}

/** Whether an entry is about a coat. */
export function isAboutCoat({ what }: LogEntry, coatId: string): boolean {
  if ("coatId" in what) return what.coatId === coatId;
  if ("coatIds" in what) return what.coatIds.includes(coatId);
  return "coats" in what && what.coats.some(({ id }) => id === coatId);
}

/** Whether it is about a coat, or about its car and none of its coats, such as a move. */
export function concernsCoat(entry: LogEntry, coatId: string): boolean {
  const { what } = entry;
  const isAboutCoats = "coats" in what || "coatIds" in what || ("coatId" in what && what.coatId !== null);
  return !isAboutCoats || isAboutCoat(entry, coatId);
}

function isKeyKnown(error: unknown): boolean {
  const { code, message } = error as { code?: unknown; message?: unknown };
  return code === "SQLITE_CONSTRAINT_UNIQUE" && String(message).includes("log_keys");
}
