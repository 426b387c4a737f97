import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exampleRecords, inventedSheet, painter, plainCoat } from "./example-records.ts";
import { inventedSheets } from "./library.ts";
import { Log } from "./log.ts";
import { verify } from "./verify.ts";

/** The tables as they were before there were checks and mixes. */
const firstSchema = `
  CREATE TABLE sheets (id TEXT NOT NULL, revision INTEGER NOT NULL, sheet TEXT NOT NULL, PRIMARY KEY (id, revision)) STRICT;
  CREATE TABLE cars (id TEXT PRIMARY KEY, job TEXT NOT NULL, name TEXT NOT NULL) STRICT;
  CREATE TABLE panels (
    car_id TEXT NOT NULL REFERENCES cars, position INTEGER NOT NULL, name TEXT NOT NULL, substrate TEXT NOT NULL,
    PRIMARY KEY (car_id, name)
  ) STRICT;
  CREATE TABLE moves (
    car_id TEXT NOT NULL REFERENCES cars, at_ms INTEGER NOT NULL, place TEXT, PRIMARY KEY (car_id, at_ms)
  ) STRICT;
  CREATE TABLE coats (
    id TEXT PRIMARY KEY, car_id TEXT NOT NULL REFERENCES cars, substrate TEXT NOT NULL,
    sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL,
    finished_at_ms INTEGER NOT NULL, film_um REAL, panel_at_finish_c REAL,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
  CREATE INDEX coats_by_car ON coats (car_id);
  CREATE TABLE coat_panels (coat_id TEXT NOT NULL REFERENCES coats, panel TEXT NOT NULL, PRIMARY KEY (coat_id, panel)) STRICT;
  CREATE TABLE corrections (
    coat_id TEXT NOT NULL REFERENCES coats, at_ms INTEGER NOT NULL, reason TEXT NOT NULL,
    field TEXT NOT NULL, was REAL, became REAL NOT NULL
  ) STRICT;
`;
/** What the version after that had besides, the last one without a log. */
const lastSchema = `${firstSchema}
  CREATE TABLE checks (
    id TEXT PRIMARY KEY, coat_id TEXT NOT NULL REFERENCES coats, stage TEXT NOT NULL, at_ms INTEGER NOT NULL,
    ready INTEGER NOT NULL CHECK (ready IN (0, 1)), how TEXT NOT NULL, who TEXT NOT NULL, note TEXT,
    entered_at_ms INTEGER NOT NULL, withdrawn_at_ms INTEGER, withdrawn_reason TEXT, withdrawn_who TEXT
  ) STRICT;
  CREATE INDEX checks_by_coat ON checks (coat_id);
  CREATE INDEX coats_by_sheet ON coats (sheet_id, sheet_revision);
  CREATE TABLE mixes (
    id TEXT PRIMARY KEY, sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL, place TEXT NOT NULL,
    mixed_at_ms INTEGER NOT NULL, who TEXT, emptied_at_ms INTEGER,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
`;

const [clear, surfacer] = [inventedSheet("demo-clear").revision, inventedSheet("demo-surfacer").revision];
let folder: string;
let file: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-before-log-"));
  file = join(folder, "records.db");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function fill(schema: string, more: string): void {
  const before = new Database(file);
  before.exec(schema);
  for (const sheet of inventedSheets()) {
    before.prepare("INSERT INTO sheets VALUES (?, ?, ?)").run(sheet.id, sheet.revision, JSON.stringify(sheet));
  }
  before.exec(`
    INSERT INTO cars VALUES ('later', 'J-2', 'White van'), ('car', 'J-1', 'Grey van');
    INSERT INTO panels VALUES ('car', 1, 'bumper', 'plastic'), ('car', 0, 'bonnet', 'steel'), ('later', 0, 'door', 'steel');
    INSERT INTO moves VALUES ('car', 5000, NULL), ('car', 1000, 'booth'), ('car', 3000, 'yard'), ('later', 2500, 'prep');
    INSERT INTO coats VALUES
      ('coat', 'car', 'steel', 'demo-clear', ${clear}, 1500, 70, 21.5), ('two', 'car', 'plastic', 'demo-clear', ${clear}, 2000, NULL, NULL);
    INSERT INTO coat_panels VALUES ('coat', 'bonnet'), ('two', 'bumper');
    INSERT INTO corrections VALUES
      ('coat', 2600, 'entered late', 'finishedAtMs', 2200, 1900), ('coat', 2700, 'misread', 'filmUm', NULL, 70),
      ('coat', 2800, 'still wrong', 'finishedAtMs', 1900, 1500);
    ${more}
  `);
  before.close();
}

function tableOf(name: string): Record<string, unknown>[] {
  const db = new Database(file, { readonly: true });
  try {
    return db.prepare<[], Record<string, unknown>>(`SELECT * FROM ${name}`).all();
  } finally {
    db.close();
  }
}

const checksAndMixes = `
  INSERT INTO checks VALUES
    ('right', 'coat', 'demask', 2300, 0, 'thumb', 'an invented painter', 'prints', 2310, NULL, NULL, NULL),
    ('wrong', 'coat', 'polish', 2400, 1, 'nail', 'another', NULL, 2410, 2420, 'mistap', 'a third');
  INSERT INTO mixes VALUES
    ('open', 'demo-clear', ${clear}, 'mixing', 1400, 'an invented painter', NULL), ('done', 'demo-surfacer', ${surfacer}, 'mixing', 1200, NULL, 1300);
`;
const openedAtMs = 900_000;
const open = () => exampleRecords({ file, now: () => openedAtMs });
const nobody = "records before the log";

describe("a file from before there was a log", () => {
  it("is taken over with all that it held, by whom and when as far as it told, over a restart too", () => {
    fill(lastSchema, checksAndMixes);
    open().close();
    const records = open();
    expect(records.car("car")).toEqual({
      id: "car",
      job: "J-1",
      name: "Grey van",
      colour: null,
      promisedAtMs: null,
      panels: [
        { name: "bonnet", substrate: "steel" },
        { name: "bumper", substrate: "plastic" },
      ],
      moves: [
        { place: "booth", atMs: 1000, who: nobody },
        { place: "yard", atMs: 3000, who: nobody },
        { place: null, atMs: 5000, who: nobody },
      ],
    });
    expect(records.carsHere().map(({ id }) => id)).toEqual(["later"]);
    const kept = { carId: "car", sheetId: "demo-clear", sheetRevision: clear, who: nobody, withdrawn: null };
    const unknown = { batches: [], sprayCheck: null, verdict: null };
    expect(records.coatsOf("car")).toEqual([
      {
        ...{ ...kept, ...unknown, id: "coat", substrate: "steel", panels: ["bonnet"] },
        ...{ finishedAtMs: 1500, filmUm: 70, panelAtFinishC: 21.5, enteredAtMs: 2200 },
      },
      {
        ...{ ...kept, ...unknown, id: "two", substrate: "plastic", panels: ["bumper"] },
        ...{ finishedAtMs: 2000, filmUm: null, panelAtFinishC: null, enteredAtMs: 2000 },
      },
    ]);
    const corrected = { coatId: "coat", who: nobody };
    expect(records.corrections("coat")).toEqual([
      { ...corrected, atMs: 2600, reason: "entered late", field: "finishedAtMs", was: 2200, became: 1900 },
      { ...corrected, atMs: 2700, reason: "misread", field: "filmUm", was: null, became: 70 },
      { ...corrected, atMs: 2800, reason: "still wrong", field: "finishedAtMs", was: 1900, became: 1500 },
    ]);
    expect(records.checksOf("coat")).toEqual([
      {
        ...{ id: "right", coatId: "coat", stage: "demask", atMs: 2300, ready: false, how: "thumb" },
        ...{ who: "an invented painter", note: "prints", told: null, enteredAtMs: 2310, withdrawn: null },
      },
      {
        ...{ id: "wrong", coatId: "coat", stage: "polish", atMs: 2400, ready: true, how: "nail" },
        ...{ who: "another", note: null, told: null, enteredAtMs: 2410 },
        withdrawn: { reason: "mistap", who: "a third", atMs: 2420 },
      },
    ]);
    const mix = { place: "mixing", litres: null, batches: [] };
    const openMix = {
      ...mix,
      id: "open",
      sheetId: "demo-clear",
      sheetRevision: clear,
      mixedAtMs: 1400,
      emptiedAtMs: null,
    };
    expect(records.openMixes()).toEqual([{ ...openMix, who: "an invented painter" }]);
    expect(tableOf("mixes").find((row) => row.id === "done")).toEqual({
      ...{ id: "done", sheet_id: "demo-surfacer", sheet_revision: surfacer, place: "mixing", who: nobody },
      ...{ mixed_at_ms: 1200, emptied_at_ms: 1300, litres: null, batches: "[]" },
    });
    expect(records.sheets()).toHaveLength(inventedSheets().length);
    records.close();
  });

  it("becomes entries in order of time, by the program, each made when the file was opened", () => {
    fill(lastSchema, checksAndMixes);
    const records = open();
    const story = records.entriesOf({ carId: "car" });
    expect(story.map(({ kind, what }) => [kind, what.before?.atMs])).toEqual([
      ["car-came", 1000],
      ["coats-finished", 2000],
      ["coats-finished", 2200],
      ["coat-checked", 2310],
      ["coat-checked", 2410],
      ["check-withdrawn", 2420],
      ["coat-corrected", 2600],
      ["coat-corrected", 2700],
      ["coat-corrected", 2800],
      ["car-moved", 3000],
      ["car-moved", 5000],
    ]);
    for (const entry of story) {
      expect(entry).toMatchObject({ who: nobody, role: "program", at: new Date(openedAtMs).toISOString() });
    }
    records.close();
    expect(verify(file)).toMatchObject({ entries: inventedSheets().length + 11 + 1 + 3, faults: [] });
  });

  it("is taken over once: what is entered then follows, and nothing comes a second time", () => {
    fill(lastSchema, checksAndMixes);
    const records = open();
    const before = records.head()?.seq;
    records.addCheck({ coatId: "two", stage: "demask", atMs: 2500, ready: true, how: "thumb" }, painter);
    records.close();
    const again = open();
    expect(again.head()?.seq).toBe(Number(before) + 1);
    expect(again.checksOf("two")).toMatchObject([{ who: painter.who, enteredAtMs: openedAtMs }]);
    again.close();
  });

  it("may be of the first version, which knew no checks and mixes", () => {
    fill(firstSchema, "");
    const records = open();
    expect(records.coatsOf("car").map(({ id }) => id)).toEqual(["coat", "two"]);
    expect(records.addCoats("later", { ...plainCoat, panels: ["door"], finishedAtMs: 2600 }, painter)).toHaveLength(1);
    records.close();
    expect(verify(file).faults).toEqual([]);
  });

  it("stays as it is where something in it can't be taken over, and the start says so", () => {
    fill(lastSchema, "INSERT INTO cars VALUES ('nowhere', 'J-3', 'Lost car');");
    expect(open).toThrow(/records\.db can't be used.*car nowhere never came to the shop/);
    const db = new Database(file);
    expect(db.prepare("SELECT count(*) FROM cars").pluck().get()).toBe(3);
    expect(() => new Log(db)).toThrow(/no such table/);
    db.close();
  });
});
