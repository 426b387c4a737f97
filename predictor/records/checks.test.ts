import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { inventedSheets } from "./library.ts";
import { checkHows, Records } from "./records.ts";

let records: Records;
beforeEach(() => {
  records = new Records(":memory:");
  for (const sheet of inventedSheets()) records.keepSheet(sheet);
});
afterEach(() => records.close());

const finishedAtMs = 10_000;
function aCoat(sheetId = "demo-clear"): { id: string; carId: string } {
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  const car = records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 });
  const coat = { panels: ["bonnet"], sheetId, finishedAtMs, filmUm: null, panelAtFinishC: null };
  const [made] = records.addCoats(car.id, coat);
  if (made === undefined) throw new Error("no coat");
  return made;
}
const aCheck = (coatId: string) =>
  ({
    coatId,
    stage: "demask",
    atMs: 20_000,
    ready: false,
    how: "thumb",
    who: "an invented painter",
    enteredAtMs: 21_000,
  }) as const;
const withdrawal = { reason: "tapped the wrong car", who: "an invented painter", atMs: 22_000 };

describe("checks", () => {
  it("give back what was entered", () => {
    const coat = aCoat();
    const check = records.addCheck({ ...aCheck(coat.id), note: "prints at the edge" });
    expect(check).toEqual({ ...aCheck(coat.id), id: check.id, note: "prints at the edge", withdrawn: null });
    const other = records.addCheck({ ...aCheck(coat.id), ready: true, how: "nail", atMs: 30_000 });
    expect(other).toMatchObject({ ready: true, how: "nail", note: null });
    expect(records.checksOf(coat.id)).toEqual([check, other]);
    expect(records.check(check.id)).toEqual(check);
  });

  it("take every way to try a coat", () => {
    const coat = aCoat();
    for (const how of checkHows) records.addCheck({ ...aCheck(coat.id), how });
    expect(records.checksOf(coat.id).map((check) => check.how)).toEqual(["thumb", "nail", "sanding", "tape"]);
  });

  it("of a sheet come from all its coats, oldest first however late one was entered, and from its revision only", () => {
    const [one, two] = [aCoat(), aCoat()];
    records.addCheck({ ...aCheck(one.id), atMs: 50_000 });
    records.addCheck({ ...aCheck(two.id), atMs: 40_000 });
    records.addCheck({ ...aCheck(aCoat("demo-surfacer").id), stage: "sand" });
    const clear = inventedSheets().find((sheet) => sheet.id === "demo-clear");
    if (clear === undefined) throw new Error("no clear");
    records.keepSheet({ ...clear, revision: 2 });
    records.addCheck(aCheck(aCoat().id));
    expect(records.checksOfSheet("demo-clear", 1).map((check) => check.coatId)).toEqual([two.id, one.id]);
    expect(records.checksOfSheet("demo-clear", 2)).toHaveLength(1);
  });

  it("are kept when withdrawn, with who and why, and count no more", () => {
    const coat = aCoat();
    const check = records.addCheck(aCheck(coat.id));
    const right = records.addCheck({ ...aCheck(coat.id), ready: true });
    expect(records.withdrawCheck(check.id, withdrawal)).toEqual({ ...check, withdrawn: withdrawal });
    expect(records.checksOf(coat.id)).toEqual([{ ...check, withdrawn: withdrawal }, right]);
    expect(records.checksOfSheet("demo-clear", 1)).toEqual([right]);
    expect(() => records.withdrawCheck(check.id, withdrawal)).toThrow(/withdrawn already.*tapped the wrong car/);
    expect(() => records.withdrawCheck("none", withdrawal)).toThrow(/no check none/);
  });

  it("refuse a coat there is not, a stage that its sheet lacks, and an instant before the finish", () => {
    const coat = aCoat();
    expect(() => records.addCheck(aCheck("none"))).toThrow(/no coat none/);
    expect(() => records.addCheck({ ...aCheck(coat.id), stage: "sand" })).toThrow(
      'sheet demo-clear has no stage "sand"; it has dust-free, demask, assemble, polish, full-cure',
    );
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: finishedAtMs - 1 })).toThrow(/before the coat's finish/);
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: Number.NaN })).toThrow();
    expect(records.checksOf(coat.id)).toEqual([]);
    expect(records.addCheck({ ...aCheck(coat.id), atMs: finishedAtMs }).atMs).toBe(finishedAtMs);
  });

  it("refuse a car that had left the shop by then", () => {
    const coat = aCoat();
    records.addMove(coat.carId, null, 30_000);
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: 30_000 })).toThrow(/had left the shop/);
    expect(records.addCheck({ ...aCheck(coat.id), atMs: 29_999 }).atMs).toBe(29_999);
  });

  it("may be of full cure where the sheet does not print it", () => {
    const [surfacer] = inventedSheets().filter((sheet) => sheet.id === "demo-surfacer");
    if (surfacer === undefined) throw new Error("no surfacer");
    const stages = surfacer.stages.filter(({ stage }) => stage !== "full-cure");
    records.keepSheet({ ...surfacer, id: "without-full-cure", stages });
    const coat = aCoat("without-full-cure");
    expect(records.addCheck({ ...aCheck(coat.id), stage: "full-cure" }).stage).toBe("full-cure");
  });

  it("hold a correction of the finish to the time before them, unless withdrawn", () => {
    const coat = aCoat();
    const check = records.addCheck(aCheck(coat.id));
    const later = { reason: "entered early", finishedAtMs: 20_001, atMs: 90_000 };
    expect(() => records.correctCoat(coat.id, later)).toThrow(/after its check at 1970-01-01T00:00:20\.000Z/);
    expect(records.coat(coat.id).finishedAtMs).toBe(finishedAtMs);
    records.withdrawCheck(check.id, withdrawal);
    expect(records.correctCoat(coat.id, later).finishedAtMs).toBe(20_001);
  });

  it("are told first to those who learn from the sheet, then to those who follow the car, entered and withdrawn", () => {
    const coat = aCoat();
    const told: string[] = [];
    const ends = [
      records.onChange((carId) => told.push(carId)),
      records.onCheck((sheetId, revision) => told.push(`${sheetId}/${revision}`)),
    ];
    expect(() => records.addCheck({ ...aCheck(coat.id), stage: "sand" })).toThrow();
    const { id } = records.addCheck(aCheck(coat.id));
    records.withdrawCheck(id, withdrawal);
    expect(told).toEqual(["demo-clear/1", coat.carId, "demo-clear/1", coat.carId]);
    for (const end of ends) end();
    records.addCheck(aCheck(coat.id));
    expect(told).toHaveLength(4);
  });
});
