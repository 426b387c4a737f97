import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exampleRecords, inventedSheet, painter, plainCoat } from "./example-records.ts";
import { type By, type Coat, program, type Records } from "./records.ts";

const quality: By = { who: "an invented inspector", role: "quality" };
const minute = 60_000;
const enteredAtMs = 900 * minute;
const reason = "entered in a hurry";

const [clear, sealer] = [inventedSheet("demo-clear"), inventedSheet("demo-sealer")];
let records: Records;
beforeEach(() => {
  records = exampleRecords({ now: () => enteredAtMs });
});
afterEach(() => records.close());

const panels = [
  { name: "bonnet", substrate: "steel" },
  { name: "bumper", substrate: "plastic" },
] as const;
/** Came at minute 1, moved to the yard at 100 and to the workshop at 200. */
function aCar() {
  const car = records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs: minute }, painter);
  records.addMove(car.id, "yard", 100 * minute, painter);
  return records.addMove(car.id, "workshop", 200 * minute, painter);
}
function aCoat(carId: string, finishedAtMs = 50 * minute): Coat {
  return records.addCoats(carId, { ...plainCoat, finishedAtMs }, painter)[0] as Coat;
}
const aCheck = (coatId: string, atMs: number, stage: "demask" | "polish" | "full-cure" = "demask") =>
  records.addCheck({ coatId, stage, atMs, ready: true, how: "thumb" }, painter);
const story = (carId: string) =>
  records.entriesOf({ carId }).map(({ kind, who }) => `${kind} by ${who.replace("an invented ", "")}`);

describe("a move corrected", () => {
  it("has another place or instant, and its old ones and the reason stand in the log", () => {
    const car = aCar();
    const moved = records.correctMove(car.id, 100 * minute, { place: "prep", atMs: 90 * minute, reason }, quality);
    expect(moved.moves[1]).toEqual({ place: "prep", atMs: 90 * minute, who: painter.who });
    expect(records.entriesOf({ carId: car.id }).at(-1)).toMatchObject({
      who: quality.who,
      role: "quality",
      kind: "move-corrected",
      what: { was: { place: "yard", atMs: 100 * minute }, became: { place: "prep", atMs: 90 * minute }, reason },
    });
  });

  it("keeps the order of the moves", () => {
    const car = aCar();
    const correct = (wasMinute: number, becameMinute: number) => () =>
      records.correctMove(car.id, wasMinute * minute, { atMs: becameMinute * minute, reason }, painter);
    for (const [was, became] of [
      [1, 100],
      [1, 150],
      [100, 1],
      [100, 200],
      [100, 250],
      [200, 100],
    ] as const) {
      expect(correct(was, became)).toThrow("must stay between the moves");
    }
    expect(correct(100, Number.NaN)).toThrow();
    expect(records.car(car.id)).toEqual(car);
    for (const [was, became] of [
      [1, 0],
      [100, 199],
      [200, 900],
    ] as const) {
      correct(was, became)();
    }
    expect(records.car(car.id).moves.map(({ atMs }) => atMs / minute)).toEqual([0, 199, 900]);
  });

  it("leaves no coat and no check that counts outside the car's stay", () => {
    const car = aCar();
    const coat = aCoat(car.id);
    const check = aCheck(coat.id, 150 * minute);
    const arrival = { atMs: 50 * minute + 1, reason };
    expect(() => records.correctMove(car.id, minute, arrival, painter)).toThrow(/The coat finished at .* outside/);
    expect(records.correctMove(car.id, minute, { ...arrival, atMs: 50 * minute }, painter).moves[0]?.atMs).toBe(
      50 * minute,
    );
    const leaving = { place: null, reason };
    expect(() => records.correctMove(car.id, 100 * minute, leaving, painter)).toThrow(/The check at .* outside/);
    records.withdrawCheck(check.id, "mistap", painter);
    expect(records.correctMove(car.id, 100 * minute, leaving, painter).moves[1]?.place).toBeNull();
  });

  it("must be one, keeps a place at the arrival, and changes something", () => {
    const car = aCar();
    const correct = (was: number, correction: { place?: string | null }) => () =>
      records.correctMove(car.id, was, { ...correction, reason }, painter);
    expect(correct(99 * minute, { place: "prep" })).toThrow("no move at");
    expect(correct(minute, { place: null })).toThrow("it needs a place");
    expect(correct(minute, { place: "booth" })).toThrow("Nothing was named");
    expect(correct(minute, {})).toThrow("Nothing was named");
    expect(records.correctMove(car.id, 200 * minute, { place: null, reason }, painter).moves[2]?.place).toBeNull();
    expect(records.carsHere()).toEqual([]);
  });
});

it("a departure before a coat that was finished is refused", () => {
  const car = aCar();
  aCoat(car.id, 250 * minute);
  expect(() => records.addMove(car.id, null, 240 * minute, painter)).toThrow(/The coat finished at .* outside/);
  expect(records.addMove(car.id, null, 251 * minute, painter).moves).toHaveLength(4);
});

describe("a coat corrected", () => {
  it("takes the newest revision of another sheet, and both revisions stand in the log", () => {
    const car = aCar();
    const coat = aCoat(car.id);
    records.keepSheet({ ...sealer, revision: sealer.revision + 3 }, program);
    const corrected = records.correctCoat(coat.id, { reason, sheetId: "demo-sealer" }, quality);
    expect(corrected).toMatchObject({ sheetId: "demo-sealer", sheetRevision: sealer.revision + 3 });
    const change = { field: "sheetId", was: "demo-clear", became: "demo-sealer" } as const;
    expect(records.corrections(coat.id)).toEqual([
      { ...change, coatId: coat.id, atMs: enteredAtMs, who: quality.who, reason },
    ]);
    expect(records.entriesOf({ coatId: coat.id }).at(-1)?.what).toMatchObject({
      changes: [{ ...change, wasRevision: clear.revision, becameRevision: sealer.revision + 3 }],
    });
  });

  it("keeps a sheet that has the stages of the checks that count", () => {
    const coat = aCoat(aCar().id);
    const polish = aCheck(coat.id, 150 * minute, "polish");
    aCheck(coat.id, 160 * minute, "full-cure");
    const correct = () => records.correctCoat(coat.id, { reason, sheetId: "demo-surfacer" }, painter);
    expect(correct).toThrow('Sheet demo-surfacer has no stage "polish", which was checked');
    records.withdrawCheck(polish.id, "mistap", painter);
    expect(correct().sheetId).toBe("demo-surfacer");
    expect(() => records.correctCoat(coat.id, { reason, sheetId: "none" }, painter)).toThrow('no sheet "none"');
  });

  it("moves its checks from one sheet's lesson to the other's, and both are told", () => {
    const car = aCar();
    const coat = aCoat(car.id);
    const check = aCheck(coat.id, 150 * minute, "full-cure");
    const told: string[] = [];
    records.onCheck((sheetId, revision) => told.push(`${sheetId}/${revision}`));
    records.onChange((carId) => told.push(carId));
    records.correctCoat(coat.id, { reason, sheetId: "demo-sealer" }, painter);
    expect(told).toEqual([`demo-clear/${clear.revision}`, `demo-sealer/${sealer.revision}`, car.id]);
    expect(records.checksOfSheet("demo-clear", clear.revision)).toEqual([]);
    expect(records.checksOfSheet("demo-sealer", sealer.revision)).toEqual([check]);
  });

  it("stays inside the car's stay, and needs something to correct", () => {
    const car = aCar();
    const coat = aCoat(car.id);
    records.addMove(car.id, null, 300 * minute, painter);
    const correct = (finishedAtMs?: number) => () => records.correctCoat(coat.id, { reason, finishedAtMs }, painter);
    expect(correct(minute - 1)).toThrow("before the car came");
    expect(correct(300 * minute)).toThrow("had left the shop");
    expect(correct(Number.NaN)).toThrow();
    expect(correct()).toThrow("Nothing was named");
    expect(records.corrections(coat.id)).toEqual([]);
  });
});

describe("a coat withdrawn", () => {
  it("is kept, and neither it nor its checks count", () => {
    const car = aCar();
    const [wrong, right] = [aCoat(car.id), aCoat(car.id, 60 * minute)];
    aCheck(wrong.id, 150 * minute);
    const kept = aCheck(right.id, 160 * minute);
    const told: string[] = [];
    records.onCheck((sheetId) => told.push(sheetId));
    records.onChange((carId) => told.push(carId));
    const withdrawn = { reason, who: quality.who, atMs: enteredAtMs };
    expect(records.withdrawCoat(wrong.id, reason, quality)).toEqual({ ...wrong, withdrawn });
    expect(told).toEqual(["demo-clear", car.id]);
    expect(records.coat(wrong.id).withdrawn).toEqual(withdrawn);
    expect(records.coatsOf(car.id)).toEqual([right]);
    expect(records.checksOf(wrong.id)).toHaveLength(1);
    expect(records.checksOfSheet("demo-clear", clear.revision)).toEqual([kept]);
  });

  it("takes nothing more", () => {
    const coat = aCoat(aCar().id);
    records.withdrawCoat(coat.id, reason, painter);
    const message = `withdrawn by ${painter.who}: ${reason}`;
    expect(() => records.withdrawCoat(coat.id, reason, painter)).toThrow(message);
    expect(() => records.correctCoat(coat.id, { reason, filmUm: 50 }, painter)).toThrow(message);
    expect(() => aCheck(coat.id, 150 * minute)).toThrow(message);
    expect(() => records.signOff(coat.id, "released", quality)).toThrow(message);
    expect(() => records.withdrawCoat("none", reason, painter)).toThrow("no coat none");
  });

  it("no longer stands in the way of a move's correction", () => {
    const car = aCar();
    const coat = aCoat(car.id);
    records.withdrawCoat(coat.id, reason, painter);
    expect(records.correctMove(car.id, minute, { atMs: 60 * minute, reason }, painter).moves[0]?.atMs).toBe(
      60 * minute,
    );
  });
});

describe("a car's entries", () => {
  it("tell its story in the order in which it was entered, and a coat's those about the coat", () => {
    const car = aCar();
    records.promise(car.id, 800 * minute, painter);
    records.addPanels(car.id, [{ name: "door", substrate: "steel" }], painter);
    const coat = aCoat(car.id);
    aCoat(aCar().id);
    const check = aCheck(coat.id, 150 * minute);
    records.withdrawCheck(check.id, "mistap", quality);
    records.correctCoat(coat.id, { reason, filmUm: 40 }, quality);
    records.signOff(coat.id, "released for delivery", quality);
    const ofCoat = [
      "coats-finished by painter",
      "coat-checked by painter",
      "check-withdrawn by inspector",
      "coat-corrected by inspector",
      "coat-signed-off by inspector",
    ];
    const before = ["car-came", "car-moved", "car-moved", "promised", "panels-added"];
    expect(story(car.id)).toEqual([...before.map((kind) => `${kind} by painter`), ...ofCoat]);
    expect(records.entriesOf({ coatId: coat.id }).map(({ kind }) => kind)).toEqual(
      ofCoat.map((line) => line.split(" ")[0]),
    );
    expect(() => records.entriesOf({ carId: "none" })).toThrow("no car none");
    expect(() => records.entriesOf({ coatId: "none" })).toThrow("no coat none");
  });
});
