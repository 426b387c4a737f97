import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, expect, it } from "vitest";
import { inventedSheets } from "./library.ts";
import { Records } from "./records.ts";

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

const folder = mkdtempSync(join(tmpdir(), "coatclock-schema-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it("a file made before there were checks and mixes keeps its records and takes both, over a restart too", () => {
  const file = join(folder, "records.db");
  const clear = inventedSheets().find((sheet) => sheet.id === "demo-clear");
  if (clear === undefined) throw new Error("no clear");
  const before = new Database(file);
  before.exec(firstSchema);
  before.prepare("INSERT INTO sheets (id, revision, sheet) VALUES (?, 1, ?)").run(clear.id, JSON.stringify(clear));
  before.exec(`
    INSERT INTO cars VALUES ('car', 'J-1', 'Grey van');
    INSERT INTO panels VALUES ('car', 0, 'bonnet', 'steel');
    INSERT INTO moves VALUES ('car', 1000, 'booth');
    INSERT INTO coats VALUES ('coat', 'car', 'steel', 'demo-clear', 1, 2000, NULL, NULL);
    INSERT INTO coat_panels VALUES ('coat', 'bonnet');
  `);
  before.close();

  const opened = new Records(file);
  for (const sheet of inventedSheets()) opened.keepSheet(sheet);
  expect(opened.coatsOf("car")).toMatchObject([{ id: "coat", panels: ["bonnet"], finishedAtMs: 2000 }]);
  const check = opened.addCheck({
    coatId: "coat",
    stage: "demask",
    atMs: 5000,
    ready: true,
    how: "thumb",
    who: "an invented painter",
    enteredAtMs: 6000,
  });
  const mix = opened.addMix({ sheetId: "demo-clear", place: "mixing", mixedAtMs: 3000, who: null });
  opened.close();

  const again = new Records(file);
  expect(again.checksOfSheet("demo-clear", 1)).toEqual([check]);
  expect(again.openMixes()).toEqual([mix]);
  again.close();
});
