/** A damaged file of packs is set aside, and what can still be read of it is carried over. */
import { accessSync, constants, existsSync, readdirSync, renameSync, rmSync, statSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import Database from "better-sqlite3";
import { packDigest } from "../readings.ts";
import type { WaitingPack } from "./outbox.ts";

/** A pack as a row of a file. */
export interface StoredPack extends WaitingPack {
  /** Rows are in the order of their ids. */
  readonly id: number;
  /** The boot of the machine under which an undated pack is held; null for a dated one. */
  readonly boot: string | null;
}

/** What was found of a file that SQLite itself did not notice. */
export class DamagedFile extends Error {}

/** Damaged files that are kept of one outbox, the newest; each can be as large as the outbox. */
const keptAside = 3;
const sidecars = ["", "-wal", "-journal", "-shm"];

/** The error's code of SQLite or of the system; null for one of neither. */
export function codeOf(error: unknown): string | null {
  return error instanceof Error && "code" in error ? String(error.code) : null;
}

export function isDamage(error: unknown): boolean {
  return error instanceof DamagedFile || /^SQLITE_(CORRUPT|NOTADB)/.test(codeOf(error) ?? "");
}

export function isFull(error: unknown): boolean {
  return codeOf(error) === "SQLITE_FULL";
}

export function isInUse(error: unknown): boolean {
  return (codeOf(error) ?? "").startsWith("SQLITE_BUSY");
}

/** What is wrong and what to do, in words. */
export function faultOf(file: string, error: unknown): string {
  return `${file} cannot be written (${codeOf(error) ?? error}): ${remedyOf(file, error)}`;
}

function remedyOf(file: string, error: unknown): string {
  if (isFull(error) || codeOf(error) === "ENOSPC") return "there is no room; free some space there";
  if (isInUse(error)) return "another process has it; stop that one";
  if (isWritable(dirname(file))) return "see whether the card is worn out, and replace it";
  return "its folder may not be written; see who owns it, and whether the card has turned read-only from wear";
}

function isWritable(folder: string): boolean {
  try {
    accessSync(folder, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}

/** Throws where an emptied file still has its write-ahead log: SQLite would take it for a new one and delete the log. */
export function refuseHollow(file: string): void {
  if (sizeOf(file) === 0 && sizeOf(`${file}-wal`) > 0) throw new DamagedFile(`${file} is empty, its log is not`);
}

/** Renames a file and what belongs to it, and gives its new name. Only the newest few are kept. */
export function setAside(file: string): string {
  const aside = `${file}.damaged-${new Date().toISOString().replaceAll(/[-:.]/g, "")}`;
  for (const sidecar of sidecars) {
    if (existsSync(file + sidecar)) renameSync(file + sidecar, aside + sidecar);
  }
  const asides = readdirSync(dirname(file))
    .filter((name) => name.startsWith(`${basename(file)}.damaged-`) && /Z$/.test(name))
    .sort();
  for (const name of asides.slice(0, -keptAside)) discard(join(dirname(file), name));
  return aside;
}

export function discard(file: string): void {
  for (const sidecar of sidecars) rmSync(file + sidecar, { force: true });
}

/** The packs that can be read on both sides of one damaged part, each once; a damaged pack among them is left out. */
export function* readable(file: string): Iterable<StoredPack> {
  const seen = new Set<number>();
  for (const direction of ["ASC", "DESC"]) {
    for (const pack of rowsUntilError(file, direction)) {
      if (seen.has(pack.id)) break;
      seen.add(pack.id);
      if (packDigest(Buffer.from(pack.payload)) === pack.digest) yield pack;
    }
  }
}

function* rowsUntilError(file: string, direction: string): Iterable<StoredPack> {
  let database: Database.Database | undefined;
  try {
    database = new Database(file, { readonly: true });
    const select = `SELECT id, lower(hex(digest)) AS digest, payload, boot FROM packs ORDER BY id ${direction}`;
    yield* database.prepare<[], StoredPack>(select).iterate();
  } catch (error) {
    if (error instanceof Database.SqliteError) return;
    throw error;
  } finally {
    database?.close();
  }
}

function sizeOf(file: string): number {
  return statSync(file, { throwIfNoEntry: false })?.size ?? 0;
}
