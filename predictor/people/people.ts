/** The people of the shop: who may enter what, and who is signed in. Their PINs and sessions; what they did is in the records. */
import { timingSafeEqual } from "node:crypto";
import { chmodSync } from "node:fs";
import type Database from "better-sqlite3";
import { type Text, type TextKey, text } from "../../words/text.ts";
import { openDatabase } from "../database.ts";
import { type By, conflict, notFound, type PersonEvent, type Records } from "../records/records.ts";
import { foldedName, writtenName } from "./names.ts";
import { PeopleTable, type Person, peopleTables, type Role } from "./people-table.ts";
import { hashPin, isPin, newPinToHandOver, type PinHash, type Turn } from "./pin.ts";
import { digestOf, newToken, Sessions, sessionTables } from "./sessions.ts";
import { type Count, elsewhere, fromAddress, onDevice, Tries, triesTable, underUnknownName } from "./tries.ts";

export { type Person, type Role, roles } from "./people-table.ts";

export interface PeopleParts {
  /** ":memory:" lasts until it is closed. */
  file: string;
  records: Pick<Records, "addPersonEvent">;
  now: () => number;
  /** The PIN of three invented people who are there from the start; null in a real shop. */
  rehearsalPin: string | null;
}

/** From where someone signs in. */
export interface Whence {
  /** The device's token, where it brings one. */
  device: string | null;
  /** On the network. */
  address: string;
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

const tables = peopleTables + sessionTables + triesTable;

/** The file's name in the data folder. */
export const peopleFileName = "people.db";

export class People {
  readonly #parts: PeopleParts;
  readonly #db: Database.Database;
  readonly #table: PeopleTable;
  readonly #sessions: Sessions;
  readonly #tries: Tries;
  /** Good once, and only while nobody is there. */
  readonly #setUpToken = newToken();

  private constructor(parts: PeopleParts) {
    this.#parts = parts;
    this.#db = openDatabase(parts.file, tables);
    // Hashes and digests: for nobody else on this machine.
    if (parts.file !== ":memory:") for (const suffix of ["", "-wal", "-shm"]) chmodSync(parts.file + suffix, 0o600);
    this.#table = new PeopleTable(this.#db);
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
    return !this.#table.isEmpty();
  }

  /** What the set-up link carries until someone was made with it; null from then on. */
  setUpToken(): string | null {
    return this.isSetUp() ? null : this.#setUpToken;
  }

  /** All, by name. */
  list(): Person[] {
    return this.#table.list();
  }

  /** Until when strange devices can't sign in as this person; null when they can. */
  lockedUntilMs(name: string): number | null {
    return this.#tries.lockedUntilMs(elsewhere(name), this.#parts.now());
  }

  /** Whether a change with this key was made. */
  knows(key: string): boolean {
    return this.#table.knowsKey(key);
  }

  /** Whose session it is; null when there is none, or the person is not active any more. Asking keeps it. */
  signedIn(session: string): Person | null {
    return this.#active(this.#sessions.use(session, this.#parts.now()));
  }

  /** Whether it is somebody's; asking does not keep it. */
  isSession(session: string): boolean {
    return this.#active(this.#sessions.nameOf(session, this.#parts.now())) !== null;
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
    this.#add(name, "installer", hash, { who: writtenName(name), role: "installer" });
    return this.#start(name, null);
  }

  /** Throws SignInFault where the name or the PIN is wrong, alike in words and time, or where it must wait. */
  async signIn(name: string, pin: string, { device: token, address }: Whence): Promise<SignedIn> {
    const person = this.#table.find(name);
    if (person === undefined) {
      await this.#isRight([underUnknownName(foldedName(name)), fromAddress(address)], pin, null, "stranger");
      throw new SignInFault("sign-in.wrong");
    }
    const device = this.#sessions.deviceOf(person.name, token, this.#parts.now());
    await this.#prove(
      person.name,
      device === null ? [elsewhere(person.name), fromAddress(address)] : [onDevice(person.name, device)],
      pin,
      device === null ? "stranger" : "known",
    );
    if (device !== null) this.#tries.forgive(person.name, device);
    return this.#start(person.name, token);
  }

  signOut(session: string): void {
    this.#sessions.end(session);
  }

  /** Throws RecordFault when there is someone of this name already, in whatever spelling, and for an easy PIN. */
  async add(name: string, role: Role, pin: string, by: By): Promise<void> {
    this.#add(name, role, await hashPin(pin), by);
  }

  /** Changes what is named. Someone must be left who installs. A new PIN, or an end of being active, ends that person's sessions. */
  async change(
    name: string,
    change: { role?: Role | undefined; isActive?: boolean | undefined; pin?: string | undefined },
    by: By,
  ): Promise<void> {
    const hash = change.pin === undefined ? null : await hashPin(change.pin);
    const person = this.#known(name);
    const after = { ...person, role: change.role ?? person.role, isActive: change.isActive ?? person.isActive };
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
    this.#enter({ event: "changed", name: person.name, change: said.join(", ") }, by, () => {
      this.#table.change(after);
      if (hash !== null) this.#changePin(person.name, hash, null);
      if (hash !== null || !after.isActive) this.#sessions.endAllOf(person.name);
    });
  }

  /** One's own: the present PIN first. The session it is changed from stays, and the device stays known. */
  async changeOwnPin(
    pin: string,
    newPin: string,
    { session, device: token }: { session: string; device: string | null },
  ): Promise<void> {
    const person = this.signedIn(session);
    if (person === null) throw new SignInFault("sign-in.needed");
    const { name, role } = person;
    const device = this.#sessions.deviceOf(name, token, this.#parts.now()) ?? digestOf(session);
    const hash = await this.#prove(name, [onDevice(name, device)], pin, "known").then(() => hashPin(newPin));
    if (!this.isSession(session)) throw new SignInFault("sign-in.needed");
    this.#enter({ event: "changed", name, change: "own new PIN" }, { who: name, role }, () => {
      this.#changePin(name, hash, token);
      this.#sessions.endAllOf(name, session);
    });
  }

  /** At the machine itself: a PIN to hand over to someone who has forgotten theirs, or to a new installer when none is left. */
  async handOverPin(name: string, { asInstaller }: { asInstaller: boolean }): Promise<string> {
    const pin = newPinToHandOver();
    const by: By = { who: "at the machine", role: "program" };
    if (asInstaller && this.#table.find(name) === undefined) await this.add(name, "installer", pin, by);
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

  /** Throws SignInFault unless it is the person's PIN, and still is when that is known. */
  async #prove(name: string, counts: readonly Count[], pin: string, turn: Turn): Promise<void> {
    const hash = this.#table.hashOf(name);
    const isRight = await this.#isRight(counts, pin, hash, turn);
    if (!isRight || this.#table.hashOf(name)?.hash !== hash?.hash) throw new SignInFault("sign-in.wrong");
  }

  /** Counts the try as wrong before the PIN is looked at, so that many sent at once are counted one by one. Throws where it must wait. */
  async #isRight(counts: readonly Count[], pin: string, hash: PinHash | null, turn: Turn): Promise<boolean> {
    const nowMs = this.#parts.now();
    const waits = counts.map((count) => ({ count, untilMs: this.#tries.lockedUntilMs(count, nowMs) ?? 0 }));
    const longest = waits.reduce((one, other) => (other.untilMs > one.untilMs ? other : one));
    if (longest.untilMs > nowMs) {
      throw new SignInFault(
        longest.count.kind === "address" ? "sign-in.wait-address" : "sign-in.wait",
        longest.untilMs,
      );
    }
    const taken = this.#tries.take(counts, nowMs);
    let isWrong = false;
    try {
      isWrong = !(await isPin(pin, hash, turn));
    } finally {
      if (!isWrong) this.#tries.giveBack(taken);
    }
    return !isWrong;
  }

  /**
   * Makes a change and records it. The log's entry is written while the change can still be undone, so that neither stands
   * where the other can't be written. Should the change fail after that, its key is not kept here: sent again, it is made
   * then, and the entry that stands is taken for it.
   */
  #enter(event: PersonEvent, by: By, change: () => void): void {
    const enter = this.#db.transaction(() => {
      if (by.key !== undefined && this.knows(by.key)) throw conflict("record-fault.entered-already");
      change();
      if (by.key !== undefined) this.#table.keepKey(by.key);
      this.#parts.records.addPersonEvent(event, by);
    });
    enter.immediate();
  }

  #add(name: string, role: Role, hash: PinHash, by: By): void {
    const known = this.#table.find(name);
    if (known !== undefined) throw conflict("people.known-already", { name: known.name });
    const person = { name: writtenName(name), role, isActive: true };
    this.#enter({ event: "added", name: person.name, role }, by, () => this.#table.add(person, hash));
  }

  /** Forgives wrong tries, and makes all devices strange but the one it is changed from. */
  #changePin(name: string, hash: PinHash, device: string | null): void {
    this.#table.changePin(name, hash);
    this.#sessions.forgetDevicesOf(name, device);
    this.#tries.forgive(name);
  }

  #active(name: string | null): Person | null {
    const person = name === null ? undefined : this.#table.find(name);
    return person?.isActive === true ? person : null;
  }

  #known(name: string): Person {
    const person = this.#table.find(name);
    if (person === undefined) throw notFound("people.unknown", { name });
    return person;
  }
}
