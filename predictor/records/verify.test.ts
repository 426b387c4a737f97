import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { exampleRecords, painter, plainCoat } from "./example-records.ts";
import { canonical, hashOf } from "./log.ts";
import { type Head, program, Records } from "./records.ts";
import { rebuild, verify } from "./verify.ts";

let folder: string;
let file: string;
let records: Records;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-verify-"));
  file = join(folder, "records.db");
  records = exampleRecords({ file });
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  records.addCar({ id: "car", job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 }, painter);
  records.addCoats("car", { ...plainCoat, finishedAtMs: 2000 }, painter);
  records.addMove("car", "yard", 3000, painter);
});
afterEach(() => {
  records.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Changes the file as someone might who has it. */
function tamper(sql: string, ...values: (string | number)[]): void {
  records.close();
  const db = new Database(file);
  db.pragma("foreign_keys = OFF");
  db.prepare(sql).run(...values);
  db.close();
}
const withoutGuards = () => {
  for (const guard of ["log_is_not_changed", "log_is_not_cut", "log_has_no_gaps"]) tamper(`DROP TRIGGER ${guard}`);
};
const head = () => records.head() as Head;
const witnessOf = ({ seq, hash }: Head) => ({ witnessed: { seq, hash } });

describe("the records verified", () => {
  it("are sound while they are being used, and their head is that of the log", () => {
    const { seq, hash } = head();
    expect(verify(file)).toEqual({ entries: seq, head: { seq, hash }, faults: [] });
    records.addMove("car", null, 4000, painter);
    expect(verify(file)).toMatchObject({ entries: seq + 1, faults: [] });
    expect(verify(file, { witnessed: { seq, hash } }).faults).toEqual([]);
  });

  it("are sound whatever the order in which the parts of a text came", () => {
    const said = text("warn.silent-from-start", { sensor: "pi/mast", quantity: text("quantity.air-temperature") });
    const about = { id: "w-1", rule: "silent-sensor", place: "yard", carId: null, coatId: null, urgency: "soon" };
    records.addWarningEvent({ event: "raised", ...about, text: said, said: "silent" }, program);
    expect(verify(file).faults).toEqual([]);
  });

  it("may be empty", () => {
    const empty = join(folder, "empty.db");
    new Records({ file: empty, now: Date.now, clock: () => "synchronised" }).close();
    expect(verify(empty)).toEqual({ entries: 0, head: null, faults: [] });
  });

  it("show an entry that was changed", () => {
    const { seq } = head();
    withoutGuards();
    tamper("UPDATE log SET entry = replace(entry, 'yard', 'shed') WHERE seq = ?", seq);
    const { faults } = verify(file);
    expect(faults).toContain(`entry ${seq}: its text does not have the hash that is stored with it`);
    expect(faults.filter((fault) => fault.startsWith("the log's own log_"))).toHaveLength(3);
    expect(faults.join()).toMatch(
      /table moves holds .*yard.*; the log does not say so,table moves lacks .*shed.*, which the log says/,
    );
  });

  it("show by a witness that the end was cut off, the tables with it", () => {
    const witnessed = witnessOf(head());
    withoutGuards();
    tamper("DELETE FROM log WHERE seq = ?", witnessed.witnessed.seq);
    tamper("DELETE FROM moves WHERE at_ms = 3000");
    const guards = verify(file).faults;
    expect(guards.every((fault) => fault.startsWith("the log's own"))).toBe(true);
    const { seq } = witnessed.witnessed;
    expect(verify(file, witnessed).faults).toContain(
      `entry ${seq} was witnessed and is not there: the log ends at ${seq - 1}`,
    );
  });

  it("show by a witness that the log was written anew from an entry on, with all hashes right", () => {
    const witnessed = witnessOf(head());
    const { seq } = witnessed.witnessed;
    records.close();
    const db = new Database(file);
    for (const guard of ["log_is_not_changed", "log_is_not_cut"]) db.exec(`DROP TRIGGER ${guard}`);
    const entry = JSON.parse(
      db.prepare<[number], string>("SELECT entry FROM log WHERE seq = ?").pluck().get(seq) ?? "",
    );
    const forged = canonical({ ...entry, what: { ...entry.what, place: "shed" } });
    db.prepare("UPDATE log SET entry = ?, hash = ? WHERE seq = ?").run(forged, hashOf(forged), seq);
    db.exec("UPDATE moves SET place = 'shed' WHERE place = 'yard'");
    db.exec(`CREATE TRIGGER log_is_not_changed BEFORE UPDATE ON log
    BEGIN SELECT RAISE(ABORT, 'the log is append-only: an entry is never changed'); END`);
    db.exec(`CREATE TRIGGER log_is_not_cut BEFORE DELETE ON log
    BEGIN SELECT RAISE(ABORT, 'the log is append-only: an entry is never removed'); END`);
    db.close();
    expect(verify(file).faults).toEqual([]);
    expect(verify(file, witnessed).faults).toEqual([
      `entry ${seq} was witnessed with the hash ${witnessed.witnessed.hash}, and has ${hashOf(forged)}: the log was written anew`,
    ]);
  });

  it.each([
    [
      "changed",
      "UPDATE coats SET film_um = 99",
      [/table coats holds .*"film_um":99/, /table coats lacks .*"film_um":null/],
    ],
    ["removed", "DELETE FROM coat_panels", [/table coat_panels lacks \{.*bonnet"\}, which the log says/]],
    ["added", "INSERT INTO moves VALUES ('car', 9, 'x', 'y')", [/table moves holds \{.*"at_ms":9.*; the log does not/]],
    [
      "put elsewhere",
      "UPDATE moves SET rowid = 99 WHERE place = 'booth'",
      [/table moves has its rows in another order/],
    ],
  ])("show a row of the tables that was %s beside the log", (_, sql, messages) => {
    tamper(sql);
    expect(verify(file).faults).toEqual(messages.map((message) => expect.stringMatching(message)));
  });

  it("show the first rows of many, and how many more there are", () => {
    const more = Array.from({ length: 12 }, (_, n) => `('car', ${n}, 'x', 'y')`);
    tamper(`INSERT INTO moves VALUES ${more.join()}`);
    const { faults } = verify(file);
    expect(faults).toHaveLength(6);
    expect(faults.at(-1)).toBe("table moves: 7 more rows differ");
  });

  it("show tables of another version, which the next start makes anew", () => {
    tamper("UPDATE coats SET film_um = 99");
    records.close();
    const db = new Database(file);
    db.pragma("user_version = 77");
    db.close();
    expect(verify(file).faults).toEqual([expect.stringMatching(/tables are of another version/)]);
    records = exampleRecords({ file });
    expect(verify(file).faults).toEqual([]);
    expect(records.coatsOf("car")[0]?.filmUm).toBeNull();
  });

  it("can't be where there is no file, no database, or no log, and it is said", () => {
    expect(verify(join(folder, "none.db")).faults[0]).toMatch(/there is no file/);
    const text = join(folder, "text.db");
    writeFileSync(text, "no database at all".repeat(100));
    expect(verify(text).faults[0]).toMatch(/text\.db can't be read: file is not a database/);
    const other = join(folder, "other.db");
    new Database(other).exec("CREATE TABLE cars (id TEXT)").close();
    expect(verify(other).faults).toEqual([expect.stringMatching(/no log in this file/)]);
  });
});

describe("the tables made anew", () => {
  it("are what the log says, and the file as it was lies beside", () => {
    tamper("UPDATE cars SET name = 'Red van'");
    const { entries, aside } = rebuild(file, Date.UTC(2026, 2, 2, 8));
    expect(aside).toBe(`${file}.before-rebuild-2026-03-02T08-00-00.000Z`);
    expect(verify(file)).toMatchObject({ entries, faults: [] });
    const before = new Database(aside, { readonly: true });
    expect(before.prepare("SELECT name FROM cars").pluck().get()).toBe("Red van");
    before.close();
  });

  it("are not made from a log that is not sound", () => {
    withoutGuards();
    tamper("UPDATE log SET entry = replace(entry, 'booth', 'shed')");
    expect(() => rebuild(file, 0)).toThrow(/the log is not sound: entry \d+: its text does not have the hash/);
    expect(() => rebuild(join(folder, "none.db"), 0)).toThrow(/there is no file/);
    expect(readdirSync(folder).filter((name) => name.includes("before-rebuild"))).toEqual([]);
  });
});
