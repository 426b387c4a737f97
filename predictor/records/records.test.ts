import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { FileFaults } from "../yaml-file.ts";
import { exampleRecords, painter, plainCoat } from "./example-records.ts";
import { inventedSheets, readSheetFile } from "./library.ts";
import { program, type Records } from "./records.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-records-"));
const file = join(folder, "records.db");
let records: Records;
const enteredAtMs = 9000;
const open = () => exampleRecords({ file, now: () => enteredAtMs });
beforeEach(() => {
  records = open();
});
afterEach(() => {
  records.close();
  for (const suffix of ["", "-wal", "-shm"]) rmSync(file + suffix, { force: true });
});

const panels = [
  { name: "bonnet", substrate: "steel" },
  { name: "bumper", substrate: "plastic" },
] as const;
const aCar = () => records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 }, painter);
const aCoat = { ...plainCoat, finishedAtMs: 2000 };

describe("the records", () => {
  it("keep what was entered over a restart", () => {
    const car = aCar();
    records.addMove(car.id, "yard", 3000, painter);
    const [coat] = records.addCoats(car.id, { ...aCoat, filmUm: 60 }, painter);
    records.close();
    records = open();
    expect(records.car(car.id).moves).toEqual([
      { place: "booth", atMs: 1000, who: painter.who },
      { place: "yard", atMs: 3000, who: painter.who },
    ]);
    expect(records.coatsOf(car.id)).toEqual([coat]);
  });

  it("keep moves in order of time however late one was entered", () => {
    const car = aCar();
    records.addMove(car.id, "yard", 9000, painter);
    records.addMove(car.id, "prep", 5000, painter);
    expect(records.car(car.id).moves.map((move) => move.place)).toEqual(["booth", "prep", "yard"]);
  });

  it("list a car until it has left", () => {
    const car = aCar();
    expect(records.carsHere().map((each) => each.id)).toEqual([car.id]);
    records.addMove(car.id, null, 3000, painter);
    expect(records.carsHere()).toEqual([]);
  });

  it("make one coat for each substrate among the panels", () => {
    const coats = records.addCoats(aCar().id, { ...aCoat, panels: ["bumper", "bonnet"] }, painter);
    expect(coats.map((coat) => [coat.substrate, coat.panels])).toEqual([
      ["steel", ["bonnet"]],
      ["plastic", ["bumper"]],
    ]);
  });

  it("refuse a move before the arrival, two moves at one instant, and a coat before the arrival", () => {
    const car = aCar();
    expect(() => records.addMove(car.id, "yard", 1000, painter)).toThrow(/must be later/);
    records.addMove(car.id, "yard", 3000, painter);
    expect(() => records.addMove(car.id, "prep", 3000, painter)).toThrow(/recorded already/);
    expect(() => records.addCoats(car.id, { ...aCoat, finishedAtMs: 500 }, painter)).toThrow(/before the car came/);
  });

  it("refuse a coat on a car that had left the shop by then", () => {
    const car = aCar();
    records.addMove(car.id, null, 3000, painter);
    expect(() => records.addCoats(car.id, { ...aCoat, finishedAtMs: 3001 }, painter)).toThrow(/had left the shop/);
    expect(records.addCoats(car.id, { ...aCoat, finishedAtMs: 2999 }, painter)).toHaveLength(1);
  });

  it("keep the old value and the reason of a correction", () => {
    const [coat] = records.addCoats(aCar().id, aCoat, painter);
    const id = coat?.id ?? "";
    records.correctCoat(id, { reason: "entered late", finishedAtMs: 1500, filmUm: 70 }, painter);
    expect(records.coat(id)).toMatchObject({ finishedAtMs: 1500, filmUm: 70 });
    expect(records.corrections(id)).toEqual([
      {
        coatId: id,
        atMs: 9000,
        who: painter.who,
        reason: "entered late",
        field: "finishedAtMs",
        was: 2000,
        became: 1500,
      },
      { coatId: id, atMs: 9000, who: painter.who, reason: "entered late", field: "filmUm", was: null, became: 70 },
    ]);
  });

  it("write nothing of an entry that fails, and tell nobody", () => {
    const car = aCar();
    const told: string[] = [];
    records.onChange((carId) => told.push(carId));
    expect(() => records.addCoats(car.id, { ...aCoat, filmUm: "thick" as unknown as number }, painter)).toThrow();
    expect(records.coatsOf(car.id)).toEqual([]);
    expect(told).toEqual([]);
    records.addCoats(car.id, aCoat, painter);
    expect(told).toEqual([car.id]);
  });

  it("refuse to change a sheet under the same revision, and keep a new revision beside the old", () => {
    const [sheet] = inventedSheets();
    if (sheet === undefined) throw new Error("no sheets");
    expect(() => records.keepSheet({ ...sheet, name: "Other" }, program)).toThrow(
      `give the changed sheet revision ${sheet.revision + 1}`,
    );
    records.keepSheet({ ...sheet, name: "Other", revision: sheet.revision + 1 }, program);
    expect(records.sheet(sheet.id, sheet.revision).name).toBe(sheet.name);
    expect(records.sheets().find((each) => each.id === sheet.id)?.name).toBe("Other");
  });
});

describe("sheet files", () => {
  it("bring six invented materials, each marked so", () => {
    const sheets = inventedSheets();
    expect(sheets.map((sheet) => sheet.kind).sort()).toEqual([
      "basecoat",
      "basecoat",
      "clearcoat",
      "pre-treatment",
      "sealer",
      "surfacer",
    ]);
    expect(sheets.every((sheet) => sheet.invented && sheet.name.startsWith("Invented"))).toBe(true);
  });

  it("name the line of a fault in the form and of a fault in the ladder", () => {
    const written = (text: string) => {
      writeFileSync(join(folder, "sheets.yaml"), text);
      try {
        return readSheetFile(join(folder, "sheets.yaml"));
      } catch (error) {
        if (error instanceof FileFaults) return error.faults;
        throw error;
      }
    };
    const sheet = (stages: string) => `sheets:
  - id: shop-clear
    revision: 1
    name: Shop clear
    kind: clearcoat
    film: { dryUm: 55 }
    stages:
${stages}`;
    expect(written(sheet('      - { stage: sandd, minutesAtC: { "20": 9 } }'))).toMatchObject([
      { line: 8, key: "sheets.0.stages.0.stage" },
    ]);
    const falling = written(
      sheet('      - { stage: demask, minutesAtC: { "20": 30 } }\n      - { stage: polish, minutesAtC: { "20": 20 } }'),
    );
    expect(falling).toMatchObject([{ key: expect.stringContaining("stages"), found: expect.any(String) }]);
    expect(JSON.stringify(falling)).toMatch(/demask.*polish|polish.*demask/);
  });
});
