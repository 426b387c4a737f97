/** The people as the file holds them, with the hashes of their PINs and the keys of the entries that made them so. */
import type Database from "better-sqlite3";
import { foldedName } from "./names.ts";
import type { PinHash } from "./pin.ts";

export const roles = ["painter", "quality", "installer"] as const;
export type Role = (typeof roles)[number];

export interface Person {
  name: string;
  role: Role;
  isActive: boolean;
}

export const peopleTables = `
  CREATE TABLE IF NOT EXISTS people (
    name TEXT PRIMARY KEY COLLATE NOCASE, role TEXT NOT NULL, is_active INTEGER NOT NULL CHECK (is_active IN (0, 1)),
    salt TEXT NOT NULL, hash TEXT NOT NULL, n INTEGER NOT NULL, r INTEGER NOT NULL, p INTEGER NOT NULL
  ) STRICT;
  CREATE TABLE IF NOT EXISTS entry_keys (key TEXT PRIMARY KEY) STRICT;
`;

export class PeopleTable {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  isEmpty(): boolean {
    return this.#db.prepare("SELECT 1 FROM people LIMIT 1").get() === undefined;
  }

  /** All, by name. */
  list(): Person[] {
    return this.#db
      .prepare<[], { name: string; role: Role; isActive: number }>(
        "SELECT name, role, is_active AS isActive FROM people ORDER BY name COLLATE NOCASE",
      )
      .all()
      .map((person) => ({ ...person, isActive: Boolean(person.isActive) }));
  }

  /** By any spelling of the name; the file itself folds the letters of ASCII only. */
  find(name: string): Person | undefined {
    const folded = foldedName(name);
    return this.list().find((person) => foldedName(person.name) === folded);
  }

  /** Of who may sign in; null for anyone else. `name` as it is kept. */
  hashOf(name: string): PinHash | null {
    return (
      this.#db
        .prepare<[string], PinHash>("SELECT salt, hash, n, r, p FROM people WHERE name = ? AND is_active = 1")
        .get(name) ?? null
    );
  }

  add({ name, role }: Person, { salt, hash, n, r, p }: PinHash): void {
    this.#db
      .prepare("INSERT INTO people (name, role, is_active, salt, hash, n, r, p) VALUES (?, ?, 1, ?, ?, ?, ?, ?)")
      .run(name, role, salt, hash, n, r, p);
  }

  change({ name, role, isActive }: Person): void {
    this.#db.prepare("UPDATE people SET role = ?, is_active = ? WHERE name = ?").run(role, isActive ? 1 : 0, name);
  }

  changePin(name: string, { salt, hash, n, r, p }: PinHash): void {
    this.#db
      .prepare("UPDATE people SET salt = ?, hash = ?, n = ?, r = ?, p = ? WHERE name = ?")
      .run(salt, hash, n, r, p, name);
  }

  knowsKey(key: string): boolean {
    return this.#db.prepare("SELECT 1 FROM entry_keys WHERE key = ?").get(key) !== undefined;
  }

  keepKey(key: string): void {
    this.#db.prepare("INSERT INTO entry_keys (key) VALUES (?)").run(key);
  }
}
