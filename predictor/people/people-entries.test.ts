/** A change of a person and its entry in the log: two files, and neither is to stand where the other could not be written. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type By, Records } from "../records/records.ts";
import { strange } from "./example-people.ts";
import { People } from "./people.ts";

const by: By = { who: "Ina", role: "installer", key: "k".repeat(22) };
let folder: string;
let records: Records;
let people: People;
const at = (file: string) => join(folder, file);

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-people-"));
  records = new Records({ file: at("records.db"), now: Date.now, clock: () => "synchronised" });
  people = await People.open({ file: at("people.db"), records, now: Date.now, rehearsalPin: null });
  await people.setUp(people.setUpToken() ?? "", "Ina", "7294");
});
afterEach(() => {
  people.close();
  records.close();
  rmSync(folder, { recursive: true });
});

/** Beside the program, as a fault of the disk would come. */
function alter(file: string, sql: string): void {
  const db = new Database(at(file));
  db.exec(sql);
  db.close();
}
const entries = () => {
  const db = new Database(at("records.db"), { readonly: true });
  const all = db.prepare<[], { entry: string }>("SELECT entry FROM log").all();
  db.close();
  return all.map(({ entry }) => (JSON.parse(entry) as { what: object }).what);
};
const added = { name: "Paul", role: "painter" };
const addPaul = (who = by) => people.add("Paul", "painter", "5827", who);
const paulSignsIn = async () => (await people.signIn("Paul", "5827", strange)).person.name;

describe("a change of a person", () => {
  it("is not made where the log can't be written, and is made when it comes again", async () => {
    alter("records.db", "CREATE TRIGGER full BEFORE INSERT ON log BEGIN SELECT RAISE(ABORT, 'no room'); END");
    await expect(addPaul()).rejects.toThrow("no room");
    expect(people.list()).toHaveLength(1);
    expect(people.knows(by.key ?? "")).toBe(false);
    alter("records.db", "DROP TRIGGER full");
    await addPaul();
    expect(await paulSignsIn()).toBe("Paul");
  });

  it("is not recorded where it can't be written, and both are done when it comes again", async () => {
    alter("people.db", "CREATE TRIGGER full BEFORE INSERT ON people BEGIN SELECT RAISE(ABORT, 'no room'); END");
    await expect(addPaul()).rejects.toThrow("no room");
    expect(entries()).not.toContainEqual(added);
    expect(people.knows(by.key ?? "")).toBe(false);
    alter("people.db", "DROP TRIGGER full");
    await addPaul();
    expect(people.knows(by.key ?? "")).toBe(true);
    expect(await paulSignsIn()).toBe("Paul");
  });

  it("that fails at the very last is made when it comes again, and recorded once", async () => {
    // A reference that is looked at when the transaction ends only.
    alter(
      "people.db",
      `CREATE TABLE nobody (x INTEGER PRIMARY KEY); CREATE TABLE full (x REFERENCES nobody DEFERRABLE INITIALLY DEFERRED);
       CREATE TRIGGER fails AFTER INSERT ON people BEGIN INSERT INTO full VALUES (1); END`,
    );
    await expect(addPaul()).rejects.toThrow(/FOREIGN KEY/);
    expect(people.list()).toHaveLength(1);
    expect(people.knows(by.key ?? "")).toBe(false);
    alter("people.db", "DROP TRIGGER fails");
    await addPaul();
    expect(await paulSignsIn()).toBe("Paul");
    expect(people.knows(by.key ?? "")).toBe(true);
    expect(entries().filter((what) => "name" in what && what.name === "Paul")).toEqual([added]);
  });

  it("with the key of another entry is refused, and not made", async () => {
    records.addCar({ job: "J-7", name: "Grey van", place: "booth", atMs: Date.now(), panels: [] }, by);
    await expect(addPaul()).rejects.toThrow();
    expect(people.list()).toHaveLength(1);
  });
});
