/** Who is signed in where. A session is a random token; only its digest is kept, so that the file gives no session away. */
import { createHash, randomBytes } from "node:crypto";
import type Database from "better-sqlite3";

export const sessionTables = `
  CREATE TABLE IF NOT EXISTS sessions (
    digest TEXT PRIMARY KEY, name TEXT NOT NULL COLLATE NOCASE REFERENCES people, made_at_ms INTEGER NOT NULL, used_at_ms INTEGER NOT NULL
  ) STRICT;
  CREATE TABLE IF NOT EXISTS devices (
    digest TEXT NOT NULL, name TEXT NOT NULL COLLATE NOCASE REFERENCES people, used_at_ms INTEGER NOT NULL, PRIMARY KEY (digest, name)
  ) STRICT;
`;

const hourMs = 3_600_000;
/** A working day without a tap ends it, and a week in any case. */
export const idleMs = 12 * hourMs;
export const longestMs = 7 * 24 * hourMs;
/** A device that nobody signed in on for so long is strange again. */
export const deviceMs = 400 * 24 * hourMs;
/** Each use is noted this often at most: a card wears. */
const notedEveryMs = 5 * 60_000;

export class Sessions {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** Starts a session; the token is told this once. */
  start(name: string, nowMs: number): string {
    this.#db
      .prepare("DELETE FROM sessions WHERE used_at_ms <= ? OR made_at_ms <= ?")
      .run(nowMs - idleMs, nowMs - longestMs);
    const token = newToken();
    this.#db
      .prepare("INSERT INTO sessions (digest, name, made_at_ms, used_at_ms) VALUES (?, ?, ?, ?)")
      .run(digestOf(token), name, nowMs, nowMs);
    return token;
  }

  /** Whose session it is; null when there is none (any more). */
  nameOf(token: string, nowMs: number): string | null {
    return this.#find(token, nowMs)?.name ?? null;
  }

  /** The same; using it keeps it. */
  use(token: string, nowMs: number): string | null {
    const session = this.#find(token, nowMs);
    if (session === null) return null;
    if (nowMs - session.usedAtMs >= notedEveryMs) this.#noteUse(digestOf(token), nowMs);
    return session.name;
  }

  #find(token: string, nowMs: number): { name: string; usedAtMs: number } | null {
    const session = this.#db
      .prepare<[string], { name: string; madeAtMs: number; usedAtMs: number }>(
        "SELECT name, made_at_ms AS madeAtMs, used_at_ms AS usedAtMs FROM sessions WHERE digest = ?",
      )
      .get(digestOf(token));
    if (session === undefined) return null;
    return nowMs - session.usedAtMs < idleMs && nowMs - session.madeAtMs < longestMs ? session : null;
  }

  #noteUse(digest: string, nowMs: number): void {
    try {
      this.#db.prepare("UPDATE sessions SET used_at_ms = ? WHERE digest = ?").run(nowMs, digest);
    } catch {
      // A full disk must sign nobody out; it is told where something is to be recorded.
    }
  }

  end(token: string): void {
    this.#db.prepare("DELETE FROM sessions WHERE digest = ?").run(digestOf(token));
  }

  /** Ends all sessions of a person, but for one. */
  endAllOf(name: string, exceptToken: string | null = null): void {
    this.#db
      .prepare("DELETE FROM sessions WHERE name = ? AND digest IS NOT ?")
      .run(name, exceptToken === null ? null : digestOf(exceptToken));
  }

  /** The digest of a device that the person has signed in on before; null for any other. */
  deviceOf(name: string, token: string | null, nowMs: number): string | null {
    if (token === null) return null;
    const known = this.#db
      .prepare<[string, string, number], { digest: string }>(
        "SELECT digest FROM devices WHERE digest = ? AND name = ? AND used_at_ms > ?",
      )
      .get(digestOf(token), name, nowMs - deviceMs);
    return known?.digest ?? null;
  }

  /** Notes that a person signed in on a device, and gives the device's token: a new one unless the token was made here. */
  knowDevice(name: string, token: string | null, nowMs: number): string {
    const kept = token !== null && this.#isOurs(token) ? token : newToken();
    this.#db
      .prepare(
        `INSERT INTO devices (digest, name, used_at_ms) VALUES (?, ?, ?)
         ON CONFLICT (digest, name) DO UPDATE SET used_at_ms = excluded.used_at_ms`,
      )
      .run(digestOf(kept), name, nowMs);
    return kept;
  }

  #isOurs(token: string): boolean {
    return this.#db.prepare("SELECT 1 FROM devices WHERE digest = ?").get(digestOf(token)) !== undefined;
  }

  /** All devices of a person are strange again, but for one. */
  forgetDevicesOf(name: string, exceptToken: string | null = null): void {
    this.#db
      .prepare("DELETE FROM devices WHERE name = ? AND digest IS NOT ?")
      .run(name, exceptToken === null ? null : digestOf(exceptToken));
  }
}

export function newToken(): string {
  return randomBytes(32).toString("base64url");
}

export function digestOf(token: string): string {
  return createHash("sha256").update(token).digest("hex");
}
