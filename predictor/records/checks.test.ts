import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exampleRecords, inventedSheet, painter, plainCoat } from "./example-records.ts";
import { checkHows, program, type Records } from "./records.ts";

const clear = inventedSheet("demo-clear");
let records: Records;
const enteredAtMs = 90_000;
beforeEach(() => {
  records = exampleRecords({ now: () => enteredAtMs });
});
afterEach(() => records.close());

const finishedAtMs = 10_000;
function aCoat(sheetId = "demo-clear"): { id: string; carId: string } {
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  const car = records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 }, painter);
  const [made] = records.addCoats(car.id, { ...plainCoat, sheetId, finishedAtMs }, painter);
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
  }) as const;
const reason = "tapped the wrong car";
const made = { who: painter.who, enteredAtMs };
const withdrawal = { reason, who: painter.who, atMs: enteredAtMs };

describe("checks", () => {
  it("give back what was entered", () => {
    const coat = aCoat();
    const check = records.addCheck({ ...aCheck(coat.id), note: "prints at the edge" }, painter);
    expect(check).toEqual({
      ...aCheck(coat.id),
      ...made,
      told: null,
      id: check.id,
      note: "prints at the edge",
      withdrawn: null,
    });
    const other = records.addCheck({ ...aCheck(coat.id), ready: true, how: "nail", atMs: 30_000 }, painter);
    expect(other).toMatchObject({ ready: true, how: "nail", note: null });
    expect(records.checksOf(coat.id)).toEqual([check, other]);
  });

  it("take every way to try a coat", () => {
    const coat = aCoat();
    for (const how of checkHows) records.addCheck({ ...aCheck(coat.id), how }, painter);
    expect(records.checksOf(coat.id).map((check) => check.how)).toEqual(["thumb", "nail", "sanding", "tape"]);
  });

  it("of coats finished in a span say where the coat stood and what it was, and whether it was corrected since", () => {
    const [coat, other, withdrawn] = [aCoat(), aCoat(), aCoat()];
    const told = { likelyAtMs: 25_000, safeAtMs: 30_000 };
    records.addCheck({ ...aCheck(coat.id), told }, painter);
    records.addMove(coat.carId, "prep", 22_000, painter);
    records.addCheck({ ...aCheck(coat.id), ready: true, atMs: 23_000 }, painter);
    records.addCheck({ ...aCheck(other.id), atMs: 21_000 }, painter);
    records.correctCoat(other.id, { reason: "comb read anew", filmUm: 80 }, painter);
    records.addCheck(aCheck(withdrawn.id), painter);
    records.withdrawCoat(withdrawn.id, reason, painter);
    records.withdrawCheck(records.addCheck(aCheck(coat.id), painter).id, reason, painter);
    const found = records.checksOfCoatsFinished(finishedAtMs, finishedAtMs + 1);
    const { sheetId, sheetRevision } = records.coat(coat.id);
    expect(found).toMatchObject([
      {
        coatId: coat.id,
        place: "booth",
        ready: false,
        told,
        finishedAtMs,
        sheetId,
        sheetRevision,
        isCorrectedSince: false,
      },
      { coatId: other.id, place: "booth", told: null, isCorrectedSince: true },
      { coatId: coat.id, place: "prep", ready: true, told: null, isCorrectedSince: false },
    ]);
    expect(records.checksOfCoatsFinished(0, finishedAtMs)).toEqual([]);
    expect(records.coatsFinished(finishedAtMs, finishedAtMs + 1).map(({ id }) => id)).toEqual([coat.id, other.id]);
    expect(records.coatsFinished(finishedAtMs + 1, 90_000)).toEqual([]);
  });

  it("of a sheet come from all its coats, oldest first however late one was entered, and from its revision only", () => {
    const [one, two] = [aCoat(), aCoat()];
    records.addCheck({ ...aCheck(one.id), atMs: 50_000 }, painter);
    records.addCheck({ ...aCheck(two.id), atMs: 40_000 }, painter);
    records.addCheck({ ...aCheck(aCoat("demo-surfacer").id), stage: "sand" }, painter);
    records.keepSheet({ ...clear, revision: clear.revision + 1 }, program);
    records.addCheck(aCheck(aCoat().id), painter);
    expect(records.checksOfSheet("demo-clear", clear.revision).map((check) => check.coatId)).toEqual([two.id, one.id]);
    expect(records.checksOfSheet("demo-clear", clear.revision + 1)).toHaveLength(1);
  });

  it("are kept when withdrawn, with who and why, and count no more", () => {
    const coat = aCoat();
    const check = records.addCheck(aCheck(coat.id), painter);
    const right = records.addCheck({ ...aCheck(coat.id), ready: true }, painter);
    expect(records.withdrawCheck(check.id, reason, painter)).toEqual({ ...check, withdrawn: withdrawal });
    expect(records.checksOf(coat.id)).toEqual([{ ...check, withdrawn: withdrawal }, right]);
    expect(records.checksOfSheet("demo-clear", clear.revision)).toEqual([right]);
    expect(() => records.withdrawCheck(check.id, reason, painter)).toThrow(/withdrawn already.*tapped the wrong car/);
    expect(() => records.withdrawCheck("none", reason, painter)).toThrow(/no check none/);
  });

  it("refuse a coat there is not, a stage that its sheet lacks, and an instant before the finish", () => {
    const coat = aCoat();
    expect(() => records.addCheck(aCheck("none"), painter)).toThrow(/no coat none/);
    expect(() => records.addCheck({ ...aCheck(coat.id), stage: "sand" }, painter)).toThrow(
      'Sheet demo-clear has no stage "sand"; it has dust free, unmask, reassemble, polish, full cure.',
    );
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: finishedAtMs - 1 }, painter)).toThrow(
      /before the coat's finish/,
    );
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: Number.NaN }, painter)).toThrow();
    expect(records.checksOf(coat.id)).toEqual([]);
    expect(records.addCheck({ ...aCheck(coat.id), atMs: finishedAtMs }, painter).atMs).toBe(finishedAtMs);
  });

  it("refuse a car that had left the shop by then", () => {
    const coat = aCoat();
    records.addMove(coat.carId, null, 30_000, painter);
    expect(() => records.addCheck({ ...aCheck(coat.id), atMs: 30_000 }, painter)).toThrow(/had left the shop/);
    expect(records.addCheck({ ...aCheck(coat.id), atMs: 29_999 }, painter).atMs).toBe(29_999);
  });

  it("may be of full cure where the sheet does not print it", () => {
    const surfacer = inventedSheet("demo-surfacer");
    const stages = surfacer.stages.filter(({ stage }) => stage !== "full-cure");
    records.keepSheet({ ...surfacer, id: "without-full-cure", stages }, program);
    const coat = aCoat("without-full-cure");
    expect(records.addCheck({ ...aCheck(coat.id), stage: "full-cure" }, painter).stage).toBe("full-cure");
  });

  it("hold a correction of the finish to the time before them, unless withdrawn", () => {
    const coat = aCoat();
    const check = records.addCheck(aCheck(coat.id), painter);
    const later = { reason: "entered early", finishedAtMs: 20_001 };
    expect(() => records.correctCoat(coat.id, later, painter)).toThrow(/after its check at 1 Jan 1970 00:00/);
    expect(records.coat(coat.id).finishedAtMs).toBe(finishedAtMs);
    records.withdrawCheck(check.id, reason, painter);
    expect(records.correctCoat(coat.id, later, painter).finishedAtMs).toBe(20_001);
  });

  it("are told first to those who learn from the sheet, then to those who follow the car, entered and withdrawn", () => {
    const coat = aCoat();
    const sheet = `demo-clear/${clear.revision}`;
    const told: string[] = [];
    const ends = [
      records.onChange((carId) => told.push(carId)),
      records.onCheck((sheetId, revision) => told.push(`${sheetId}/${revision}`)),
    ];
    expect(() => records.addCheck({ ...aCheck(coat.id), stage: "sand" }, painter)).toThrow();
    const { id } = records.addCheck(aCheck(coat.id), painter);
    records.withdrawCheck(id, reason, painter);
    expect(told).toEqual([sheet, coat.carId, sheet, coat.carId]);
    for (const end of ends) end();
    records.addCheck(aCheck(coat.id), painter);
    expect(told).toHaveLength(4);
  });
});
