import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { BookQuery } from "./book-query.ts";
import { CoatBook } from "./coat-book.ts";
import { exampleFigures, exampleRow, hourMs } from "./example-proof.ts";

let book: CoatBook;
beforeEach(() => {
  book = new CoatBook(":memory:", 0);
});
afterEach(() => book.close());

const plain: BookQuery = { sort: "finished", order: "up" };
const found = (query: Partial<BookQuery>, nowMs = 10 * hourMs) =>
  book.page({ ...plain, ...query }, nowMs, { from: 0, size: 50 }).rows.map(({ coat }) => coat);

describe("the book of coats", () => {
  it("gives back what was put in, and the newer of two rows of one coat", () => {
    const row = exampleRow("1", { deviations: [{ code: "gap", isAnswered: false }], panels: ["bonnet", "roof"] });
    book.put([row]);
    expect(book.row("tested", "1")).toEqual(row);
    book.put([{ ...row, panels: ["roof"], verdict: "held" }]);
    expect(book.row("tested", "1")).toMatchObject({ panels: ["roof"], verdict: "held" });
    expect(found({ panel: "bonnet" })).toEqual([]);
    expect(book.choices().panels).toEqual(["roof"]);
    expect(book.row("tested", "none")).toBeNull();
  });

  it("finds by every filter, and by all at once", () => {
    book.put([
      exampleRow("1", { finishedAtMs: 1000, job: "J-100 %", who: "Ä" }),
      exampleRow("2", { finishedAtMs: 2000, car: "Blue hatchback", sheetId: "s2", place: "yard" }),
      exampleRow("3", { finishedAtMs: 3000, panels: ["roof"], deviations: [{ code: "gap", isAnswered: true }] }),
      exampleRow("4", { finishedAtMs: 4000, deviations: [{ code: "covered-early", isAnswered: false }] }),
    ]);
    expect(found({ fromMs: 2000, toMs: 4000 })).toEqual(["2", "3"]);
    expect(found({ car: "hatch" })).toEqual(["2"]);
    expect(found({ car: "100 %" })).toEqual(["1"]);
    expect(found({ car: "%" })).toEqual(["1"]);
    expect(found({ panel: "roof" })).toEqual(["3"]);
    expect(found({ sheet: "s2" })).toEqual(["2"]);
    expect(found({ place: "yard" })).toEqual(["2"]);
    expect(found({ who: "Ä" })).toEqual(["1"]);
    expect(found({ deviation: "gap" })).toEqual(["3"]);
    expect(found({ deviation: "any" })).toEqual(["3", "4"]);
    expect(found({ deviation: "open" })).toEqual(["4"]);
    expect(found({ deviation: "any", panel: "roof", car: "grey", fromMs: 3000 })).toEqual(["3"]);
    expect(found({ who: "'; DROP TABLE coats; --" })).toEqual([]);
  });

  it("tells states by the clock and by the quality lead's word", () => {
    book.put([
      exampleRow("early"),
      exampleRow("never", { safeAtMs: null }),
      exampleRow("held", { verdict: "held" }),
      exampleRow("out", { verdict: "released" }),
      exampleRow("gone", { isWithdrawn: true, verdict: "held" }),
    ]);
    expect(found({ state: "drying" }, hourMs - 1)).toEqual(["early", "never"]);
    expect(found({ state: "ready" }, hourMs)).toEqual(["early"]);
    expect(found({ state: "held" })).toEqual(["held"]);
    expect(found({ state: "released" })).toEqual(["out"]);
    expect(found({ state: "withdrawn" })).toEqual(["gone"]);
  });

  it("sorts both ways, with the later finish first among equals downwards, and turns pages without losing one", () => {
    const rows = Array.from({ length: 25 }, (_, n) =>
      exampleRow(`${n}`, {
        finishedAtMs: n * 1000,
        car: n % 2 === 0 ? "a" : "B",
        deviations: n === 7 ? [{ code: "gap", isAnswered: false }] : [],
      }),
    );
    book.put(rows);
    expect(found({ sort: "car", order: "down" }).slice(0, 2)).toEqual(["23", "21"]);
    expect(found({ sort: "deviations", order: "down" })[0]).toBe("7");
    for (const sort of ["finished", "car", "sheet", "place", "who", "deviations", "state"] as const) {
      const seen: string[] = [];
      for (let from = 0; from < 25; from += 10) {
        const { total, rows: page } = book.page({ sort, order: "up" }, 0, { from, size: 10 });
        expect(total).toBe(25);
        seen.push(...page.map(({ coat }) => coat));
      }
      expect(new Set(seen).size).toBe(25);
      expect([...book.all({ sort, order: "up" }, 0)].flat().map(({ coat }) => coat)).toEqual(seen);
    }
  });

  it("knows which cars may still change, and which were drying between two instants", () => {
    book.put([
      exampleRow("1", { figures: exampleFigures({ isOver: false }) }),
      exampleRow("2", { finishedAtMs: 2 * hourMs, figures: exampleFigures({ untilMs: 3 * hourMs }) }),
    ]);
    expect(book.carsNotOver()).toEqual(["car-1"]);
    expect(book.carsBetween(hourMs, hourMs)).toEqual(["car-1"]);
    expect(book.carsBetween(hourMs, 2 * hourMs)).toEqual(["car-1", "car-2"]);
    expect(book.carsBetween(3 * hourMs + 1, 4 * hourMs)).toEqual([]);
  });
});

describe("its file", () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "coatclock-book-"));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it("is there again, with how far it had seen the log", () => {
    const file = join(folder, "coat-book.db");
    const first = new CoatBook(file, 0);
    first.put([exampleRow("1")]);
    first.saw(42);
    first.close();
    const again = new CoatBook(file, 0);
    expect([again.row("tested", "1")?.coat, again.seenSeq]).toEqual(["1", 42]);
    again.close();
  });

  it("is begun anew where it is damaged or of another version: the log knows it all", () => {
    const file = join(folder, "coat-book.db");
    writeFileSync(file, "no database at all, but longer than a header of one would be: ".repeat(40));
    const first = new CoatBook(file, 0);
    first.put([exampleRow("1")]);
    first.saw(42);
    first.close();
    const other = new Database(file);
    other.exec("UPDATE seen SET version = 999");
    const epoch = other.prepare("SELECT epoch FROM seen").pluck().get();
    other.close();
    const again = new CoatBook(file, 0);
    expect([again.row("tested", "1"), again.seenSeq]).toEqual([null, 0]);
    expect(again.epoch).not.toBe(epoch);
    again.close();
  });
});

describe("what a head office takes from it", () => {
  let office: CoatBook;
  beforeEach(() => {
    office = new CoatBook(":memory:", 0);
  });
  afterEach(() => office.close());

  const told = (after: number, most = 100) => ({ epoch: book.epoch, after, rows: book.changedAfter(after, most) });
  const held = (shop: string) => [...office.all({ ...plain, shop }, 0)].flat();

  it("is every row that was changed after a number, with the newest change last", () => {
    book.put([exampleRow("1"), exampleRow("2"), exampleRow("3")]);
    book.put([exampleRow("1", { verdict: "held" })]);
    expect(book.changedAfter(0, 100).map(({ row, number }) => [row.coat, number])).toEqual([
      ["2", 2],
      ["3", 3],
      ["1", 4],
    ]);
    expect(book.changedAfter(2, 1).map(({ row }) => row.coat)).toEqual(["3"]);
    expect(book.lastNumber).toBe(4);
    expect(book.changedAfter(4, 100)).toEqual([]);
  });

  it("keeps shops apart though their coats have the same ids, under the name that the office knows them by", () => {
    book.put([exampleRow("1", { shop: "someone-else" })]);
    expect(office.take("north", told(0))).toBe(true);
    expect(office.take("south", told(0))).toBe(true);
    expect(office.take("south", told(0))).toBe(true);
    expect(office.row("north", "1")?.shop).toBe("north");
    expect(office.row("someone-else", "1")).toBeNull();
    expect(held("south")).toHaveLength(1);
    expect([...office.all(plain, 0)].flat()).toHaveLength(2);
    expect(office.heldOf("south")).toEqual({ epoch: book.epoch, number: 1 });
    expect(office.heldOf("west")).toEqual({ epoch: "", number: 0 });
  });

  it("is not taken over a gap, and an older copy that comes late changes nothing", () => {
    book.put([exampleRow("1"), exampleRow("2")]);
    const early = told(0);
    expect(office.take("north", told(1))).toBe(false);
    expect(office.take("north", told(0, 1))).toBe(true);
    book.put([exampleRow("1", { verdict: "held" })]);
    expect(office.take("north", told(2))).toBe(false);
    expect(office.take("north", told(1))).toBe(true);
    expect(office.take("north", early)).toBe(true);
    expect(office.row("north", "1")?.verdict).toBe("held");
    expect(office.heldOf("north").number).toBe(3);
  });

  it("is replaced whole by a book that was begun anew, and only by its beginning", () => {
    book.put([exampleRow("1"), exampleRow("2")]);
    office.take("north", told(0));
    office.take("south", told(0));
    const anew = new CoatBook(":memory:", 0);
    anew.put([exampleRow("3"), exampleRow("4")]);
    const rows = anew.changedAfter(0, 100);
    expect(office.take("north", { epoch: anew.epoch, after: 1, rows: rows.slice(1) })).toBe(false);
    expect(held("north").map(({ coat }) => coat)).toEqual(["1", "2"]);
    expect(office.take("north", { epoch: anew.epoch, after: 0, rows })).toBe(true);
    expect(held("north").map(({ coat }) => coat)).toEqual(["3", "4"]);
    expect(held("south").map(({ coat }) => coat)).toEqual(["1", "2"]);
    anew.close();
  });
});
