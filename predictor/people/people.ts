/** The people of the shop: who may enter what, and who is signed in. Their PINs and sessions; what they did is in the records. */
import { timingSafeEqual } from "node:crypto";
import { chmodSync } from "node:fs";
import type Database from "better-sqlite3";
import { type Text, type TextKey, text } from "../../words/text.ts";
import { openDatabase } from "../database.ts";
import { type By, conflict, notFound, type Records } from "../records/records.ts";
import { hashPin, isPin, newPinToHandOver, type PinHash } from "./pin.ts";
import { digestOf, newToken, Sessions, sessionTables } from "./sessions.ts";
import { Tries, triesTable } from "./tries.ts";

export const roles = ["painter", "quality", "installer"] as const;
export type Role = (typeof roles)[number];

export interface Person {
  name: string;
  role: Role;
  isActive: boolean;
}

export interface PeopleParts {
  /** ":memory:" lasts until it is closed. */
  file: string;
  records: Pick<Records, "addPersonEvent">;
  now: () => number;
  /** The PIN of three invented people who are there from the start; null in a real shop. */
  rehearsalPin: string | null;
}

export interface SignedIn {
  person: Person;
  session: string;
  device: string;
}

/** A sign-in that is refused; `untilMs` when it may be tried again. */
export class SignInFault extends Error {
  readonly text: Text;
  readonly untilMs: number | null;

  constructor(key: TextKey, untilMs: number | null = null) {
    super(key);
    this.name = "SignInFault";
    this.text = untilMs === null ? text(key) : text(key, { time: { timeMs: untilMs } });
    this.untilMs = untilMs;
  }
}

const tables = `
  CREATE TABLE IF NOT EXISTS people (
    name TEXT PRIMARY KEY COLLATE NOCASE, role TEXT NOT NULL, is_active INTEGER NOT NULL CHECK (is_active IN (0, 1)),
    salt TEXT NOT NULL, hash TEXT NOT NULL, n INTEGER NOT NULL, r INTEGER NOT NULL, p INTEGER NOT NULL
  ) STRICT;
  ${sessionTables}
  ${triesTable}
`;

/** The file's name in the data folder. */
export const peopleFileName = "people.db";

export class People {
  readonly #parts: PeopleParts;
  readonly #db: Database.Database;
  readonly #sessions: Sessions;
  readonly #tries: Tries;
  /** Good once, and only while nobody is there. */
  readonly #setUpToken = newToken();

  private constructor(parts: PeopleParts) {
    this.#parts = parts;
    this.#db = openDatabase(parts.file, tables);
    // Hashes and digests: for nobody else on this machine.
    if (parts.file !== ":memory:") for (const suffix of ["", "-wal", "-shm"]) chmodSync(parts.file + suffix, 0o600);
    this.#sessions = new Sessions(this.#db);
    this.#tries = new Tries(this.#db);
  }

  /** Throws as openDatabase does. */
  static async open(parts: PeopleParts): Promise<People> {
    const people = new People(parts);
    if (parts.rehearsalPin !== null && !people.isSetUp()) await people.#invent(parts.rehearsalPin);
    return people;
  }

  close(): void {
    this.#db.close();
  }

  get rehearsalPin(): string | null {
    return this.#parts.rehearsalPin;
  }

  /** Whether anyone is there. */
  isSetUp(): boolean {
    return this.#db.prepare("SELECT 1 FROM people LIMIT 1").get() !== undefined;
  }

  /** What the set-up link carries until someone was made with it; null from then on. */
  setUpToken(): string | null {
    return this.isSetUp() ? null : this.#setUpToken;
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

  /** Until when strange devices can't sign in as this person; null when they can. */
  lockedUntilMs(name: string): number | null {
    return this.#tries.lockedUntilMs(name, null, this.#parts.now());
  }

  /** Whose session it is; null when there is none, or the person is not active any more. */
  signedIn(session: string): Person | null {
    const name = this.#sessions.nameOf(session, this.#parts.now());
    const person = name === null ? undefined : this.#find(name);
    return person?.isActive === true ? person : null;
  }

  /** Makes the first person, who installs, with the token of the set-up link, and signs them in. */
  async setUp(token: string, name: string, pin: string): Promise<SignedIn> {
    const expected = this.setUpToken();
    if (expected === null) throw new SignInFault("sign-in.set-up-done");
    if (!timingSafeEqual(Buffer.from(digestOf(token)), Buffer.from(digestOf(expected)))) {
      throw new SignInFault("sign-in.set-up-wrong");
    }
    const hash = await hashPin(pin);
    // Someone else may have been quicker with the same link.
    if (this.isSetUp()) throw new SignInFault("sign-in.set-up-done");
    this.#insert(name, "installer", hash, { who: name, role: "installer" });
    return this.#start(name, null);
  }

  /** Throws SignInFault where the name or the PIN is wrong, alike in words and time, or where it must wait. */
  async signIn(name: string, pin: string, deviceToken: string | null): Promise<SignedIn> {
    const device = this.#sessions.deviceOf(name, deviceToken, this.#parts.now());
    const person = this.#find(name);
    const isRight = await this.#isRight(name, device, pin, person?.isActive === true ? this.#hashOf(name) : null);
    if (person === undefined || !isRight) throw new SignInFault("sign-in.wrong");
    if (device !== null) this.#tries.forgive(name, device);
    return this.#start(person.name, deviceToken);
  }

  signOut(session: string): void {
    this.#sessions.end(session);
  }

  /** Throws RecordFault when there is someone of this name already, written with other capitals too. */
  async add(name: string, role: Role, pin: string, by: By): Promise<void> {
    const hash = await hashPin(pin);
    this.#insert(name, role, hash, by);
  }

  /** Changes what is named. Someone must be left who installs. A new PIN, or an end of being active, ends that person's sessions. */
  async change(
    name: string,
    change: { role?: Role | undefined; isActive?: boolean | undefined; pin?: string | undefined },
    by: By,
  ): Promise<void> {
    const hash = change.pin === undefined ? null : await hashPin(change.pin);
    const person = this.#known(name);
    const after = { role: change.role ?? person.role, isActive: change.isActive ?? person.isActive };
    const others = this.list().filter(
      (each) => each.name !== person.name && each.isActive && each.role === "installer",
    );
    if (others.length === 0 && !(after.role === "installer" && after.isActive)) throw conflict("people.last-installer");
    const said = [
      ...(after.role === person.role ? [] : [`role ${after.role}`]),
      ...(after.isActive === person.isActive ? [] : [after.isActive ? "active" : "not active"]),
      ...(hash === null ? [] : ["new PIN"]),
    ];
    if (said.length === 0) return;
    this.#parts.records.addPersonEvent({ event: "changed", name: person.name, change: said.join(", ") }, by);
    this.#db
      .prepare("UPDATE people SET role = ?, is_active = ? WHERE name = ?")
      .run(after.role, after.isActive ? 1 : 0, person.name);
    if (hash !== null) this.#keepHash(person.name, hash);
    if (hash !== null || !after.isActive) this.#sessions.endAllOf(person.name);
  }

  /** One's own: the present PIN first. The session it is changed from stays. */
  async changeOwnPin(name: string, pin: string, newPin: string, session: string): Promise<void> {
    if (!(await this.#isRight(name, digestOf(session), pin, this.#hashOf(name))))
      throw new SignInFault("sign-in.wrong");
    const hash = await hashPin(newPin);
    const { role } = this.#known(name);
    this.#parts.records.addPersonEvent({ event: "changed", name, change: "own new PIN" }, { who: name, role });
    this.#keepHash(name, hash);
    this.#sessions.endAllOf(name, session);
  }

  /** At the machine itself: a PIN to hand over to someone who has forgotten theirs, or to a new installer when none is left. */
  async handOverPin(name: string, { asInstaller }: { asInstaller: boolean }): Promise<string> {
    const pin = newPinToHandOver();
    const by: By = { who: "at the machine", role: "program" };
    if (asInstaller && this.#find(name) === undefined) await this.add(name, "installer", pin, by);
    else await this.change(name, asInstaller ? { pin, role: "installer", isActive: true } : { pin }, by);
    return pin;
  }

  async #invent(pin: string): Promise<void> {
    const by: By = { who: "rehearsal", role: "program" };
    await this.add("Painter A", "painter", pin, by);
    await this.add("Quality A", "quality", pin, by);
    await this.add("Installer A", "installer", pin, by);
  }

  #start(name: string, deviceToken: string | null): SignedIn {
    const nowMs = this.#parts.now();
    const person = this.#known(name);
    const device = this.#sessions.knowDevice(person.name, deviceToken, nowMs);
    return { person, device, session: this.#sessions.start(person.name, nowMs) };
  }

  /** Counts the try as wrong before the PIN is looked at, so that many sent at once are counted one by one. Throws where it must wait. */
  async #isRight(name: string, device: string | null, pin: string, hash: PinHash | null): Promise<boolean> {
    const nowMs = this.#parts.now();
    const untilMs = this.#tries.lockedUntilMs(name, device, nowMs);
    if (untilMs !== null) throw new SignInFault("sign-in.wait", untilMs);
    const taken = this.#tries.take(name, device, nowMs);
    let isWrong = false;
    try {
      isWrong = !(await isPin(pin, hash));
    } finally {
      if (!isWrong) this.#tries.giveBack(taken);
    }
    return !isWrong;
  }

  #insert(name: string, role: Role, hash: PinHash, by: By): void {
    if (this.#find(name) !== undefined) throw conflict("people.known-already", { name });
    this.#parts.records.addPersonEvent({ event: "added", name, role }, by);
    this.#db
      .prepare("INSERT INTO people (name, role, is_active, salt, hash, n, r, p) VALUES (?, ?, 1, ?, ?, ?, ?, ?)")
      .run(name, role, hash.salt, hash.hash, hash.n, hash.r, hash.p);
  }

  #keepHash(name: string, { salt, hash, n, r, p }: PinHash): void {
    this.#db
      .prepare("UPDATE people SET salt = ?, hash = ?, n = ?, r = ?, p = ? WHERE name = ?")
      .run(salt, hash, n, r, p, name);
    this.#sessions.forgetDevicesOf(name);
    this.#tries.forgive(name);
  }

  #find(name: string): Person | undefined {
    return this.list().find((person) => person.name.toLowerCase() === name.toLowerCase());
  }

  #known(name: string): Person {
    const person = this.#find(name);
    if (person === undefined) throw notFound("people.unknown", { name });
    return person;
  }

  #hashOf(name: string): PinHash | null {
    return (
      this.#db.prepare<[string], PinHash>("SELECT salt, hash, n, r, p FROM people WHERE name = ?").get(name) ?? null
    );
  }
}
