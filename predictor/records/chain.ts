/** Checks that entries of the log are what was entered: form, hash, and each one's tie to the one before. */
import type Database from "better-sqlite3";
import { canonical, hashOf, type LogEntry, noHash, readEntry } from "./log.ts";

/** A row of the log by its bytes: text that is none would not survive being read as such. */
export interface ChainRow {
  seq: number;
  entry: Uint8Array;
  hash: Uint8Array;
}

/** The rows of a log, in pages, so that no statement stays open meanwhile. */
export function* chainRows(db: Database.Database): Generator<ChainRow> {
  const page = db.prepare<[number], ChainRow>(
    "SELECT seq, CAST(entry AS BLOB) AS entry, CAST(hash AS BLOB) AS hash FROM log WHERE seq > ? ORDER BY seq LIMIT 50",
  );
  // Below any number that SQLite has.
  let rows = page.all(Number.MIN_SAFE_INTEGER);
  while (rows.length > 0) {
    yield* rows;
    rows = page.all(rows.at(-1)?.seq ?? 0);
  }
}

export interface ChainLink {
  seq: number;
  /** Reckoned from the entry's bytes. */
  hash: string;
  /** Null where it can't be read. */
  entry: LogEntry | null;
  /** What is wrong with it, each a sentence that names it. */
  faults: string[];
  /** Nothing is, but that it has not the form of an entry as this version knows it. */
  isOfUnknownForm: boolean;
}

const utf8 = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });

/** Goes through rows in the order of `seq`, which follow on an entry that is known. Says all that is wrong with each, and goes on. */
export function* checkChain(
  rows: Iterable<ChainRow>,
  known: { seq: number; hash: string } = { seq: 0, hash: noHash },
): Generator<ChainLink> {
  let before = { seq: known.seq, stored: known.hash };
  for (const row of rows) {
    const hash = hashOf(row.entry);
    const stored = Buffer.from(row.hash).toString("latin1");
    const { entry, faults, isWellWritten } = read(row.entry, hash);
    if (row.seq !== before.seq + 1) {
      const missing =
        row.seq === before.seq + 2 ? `entry ${row.seq - 1} is` : `entries ${before.seq + 1} to ${row.seq - 1} are`;
      faults.push(`${missing} missing`);
    }
    if (hash !== stored) faults.push("its text does not have the hash that is stored with it");
    if (entry !== null && entry.seq !== row.seq) faults.push(`it says that it is entry ${entry.seq}`);
    if (entry !== null && entry.previous !== before.stored) {
      faults.push(
        before.seq === 0
          ? "it does not say that it is the first"
          : `it was not made after entry ${before.seq} as that stands here`,
      );
    }
    const isOfUnknownForm = entry === null && isWellWritten && faults.length === 1;
    yield { seq: row.seq, hash, entry, faults: faults.map((fault) => `entry ${row.seq}: ${fault}`), isOfUnknownForm };
    before = { seq: row.seq, stored };
  }
}

interface Read {
  entry: LogEntry | null;
  faults: string[];
  /** Canonical JSON, whatever it says. */
  isWellWritten: boolean;
}

function read(bytes: Uint8Array, hash: string): Read {
  let text: string;
  let value: unknown;
  try {
    text = utf8.decode(bytes);
    value = JSON.parse(text);
  } catch {
    return { entry: null, faults: ["it is no JSON text"], isWellWritten: false };
  }
  const isWellWritten = isCanonical(value, text);
  const faults = isWellWritten ? [] : ["it is not in canonical form"];
  try {
    return { entry: readEntry(text, hash), faults, isWellWritten };
  } catch (error) {
    return {
      entry: null,
      faults: [...faults, `it has not the form of an entry (${firstIssue(error)})`],
      isWellWritten,
    };
  }
}

function isCanonical(value: unknown, text: string): boolean {
  try {
    return canonical(value) === text;
  } catch {
    return false;
  }
}

function firstIssue(error: unknown): string {
  const { issues } = error as { issues?: { path: PropertyKey[]; message: string }[] };
  const issue = issues?.[0];
  return issue === undefined ? String(error) : `${issue.path.join(".")}: ${issue.message}`;
}
