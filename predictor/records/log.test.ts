import { createHash } from "node:crypto";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type By, Log, logTables, noHash, program } from "./log.ts";

const by: By = { who: "an invented painter", role: "painter" };
const made = { atMs: Date.UTC(2026, 2, 2, 8, 0, 0, 5), clock: "synchronised" } as const;
const emptied = (n: number) => ({ id: `mix-${n}`, atMs: n });

let db: Database.Database;
let log: Log;
beforeEach(() => {
  db = new Database(":memory:");
  db.exec(logTables);
  log = new Log(db);
});
afterEach(() => db.close());

const rows = () => db.prepare<[], { seq: number; entry: string; hash: string }>("SELECT * FROM log ORDER BY seq").all();

describe("the log", () => {
  it("holds each entry as canonical JSON, with who, when and by which clock, its hash, and the one before", () => {
    log.append("mix-emptied", emptied(1), { ...by, key: "a-key" }, made);
    log.append("promised", { carId: "c", was: null, became: 5 }, program, { ...made, clock: "unsynchronised" });
    const [one, two] = rows();
    expect(one?.entry).toBe(
      '{"at":"2026-03-02T08:00:00.005Z","clock":"synchronised","key":"a-key","kind":"mix-emptied","previous":"' +
        `${noHash}","role":"painter","seq":1,"what":{"atMs":1,"id":"mix-1"},"who":"an invented painter"}`,
    );
    expect(two?.entry).toBe(
      '{"at":"2026-03-02T08:00:00.005Z","clock":"unsynchronised","kind":"promised","previous":"' +
        `${one?.hash}","role":"program","seq":2,"what":{"became":5,"carId":"c","was":null},"who":"Coatclock"}`,
    );
    for (const { entry, hash } of rows()) expect(hash).toBe(createHash("sha256").update(entry, "utf8").digest("hex"));
  });

  it("gives its last entry as its head, and all entries back as they were made", () => {
    expect(log.head()).toBeNull();
    const entries = Array.from({ length: 1_203 }, (_, n) => log.append("mix-emptied", emptied(n), by, made));
    expect(log.head()).toEqual({ seq: 1_203, hash: entries.at(-1)?.hash, atMs: made.atMs });
    expect([...log.entries()]).toEqual(entries);
  });

  it("takes no key twice, and any number of entries without one", () => {
    log.append("mix-emptied", emptied(1), { ...by, key: "a-key" }, made);
    log.append("mix-emptied", emptied(2), by, made);
    log.append("mix-emptied", emptied(3), by, made);
    expect(() => log.append("mix-emptied", emptied(4), { ...by, key: "a-key" }, made)).toThrow("taken already");
    expect([log.knows("a-key"), log.knows("another")]).toEqual([true, false]);
    expect(rows()).toHaveLength(3);
  });

  it.each([
    ["a number that is none", { id: "m", atMs: Number.NaN }],
    ["a field that the kind has not", { id: "m", atMs: 1, pin: "1234" }],
    ["a field missing", { id: "m" }],
    ["half a character", { id: "half \ud83d", atMs: 1 }],
  ])("takes no entry with %s", (_, what) => {
    expect(() => log.append("mix-emptied", what as ReturnType<typeof emptied>, by, made)).toThrow();
    expect(rows()).toEqual([]);
  });

  it.each([
    ["a change of an entry", "UPDATE log SET entry = '{}' WHERE seq = 1", "never changed"],
    ["a change of a hash", "UPDATE log SET hash = '' WHERE seq = 2", "never changed"],
    ["a change of a number", "UPDATE log SET seq = 9 WHERE seq = 2", "never changed"],
    ["the end cut off", "DELETE FROM log WHERE seq = 2", "never removed"],
    ["everything removed", "DELETE FROM log", "never removed"],
    ["an entry put in another's place", "INSERT OR REPLACE INTO log VALUES (1, '{}', '')", "comes after the last"],
    ["an entry before the first", "INSERT INTO log VALUES (0, '{}', '')", "comes after the last"],
    ["an entry with a gap before it", "INSERT INTO log VALUES (4, '{}', '')", "comes after the last"],
    ["a row without a number of its own", "INSERT INTO log (entry, hash) VALUES ('{}', '')", "comes after the last"],
  ])("refuses %s", (_, sql, message) => {
    log.append("mix-emptied", emptied(1), by, made);
    log.append("mix-emptied", emptied(2), by, made);
    const before = rows();
    expect(() => db.exec(sql)).toThrow(message);
    expect(rows()).toEqual(before);
  });
});
