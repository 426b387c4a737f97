import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { de } from "../../words/de.ts";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import type { SprayCheck } from "../cure/spray-check.ts";
import { exampleRecords, inventedSheet, painter, plainCoat } from "./example-records.ts";
import { RecordFault } from "./record-fault.ts";
import type { By, Records, WarningEvent } from "./records.ts";

const quality: By = { who: "an invented inspector", role: "quality" };

let nowMs: number;
let records: Records;
beforeEach(() => {
  nowMs = 50_000;
  records = exampleRecords({ now: () => nowMs, clock: () => "by predictor" });
});
afterEach(() => records.close());

const panels = [{ name: "bonnet", substrate: "steel" }] as const;
const newCar = { job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 };
const faultOf = (enter: () => unknown): RecordFault => {
  try {
    enter();
  } catch (error) {
    if (error instanceof RecordFault) return error;
    throw error;
  }
  throw new Error("it was taken");
};

describe("a car", () => {
  it("comes with an id of whoever enters it, the colour of its card and a promise, each of which may be absent", () => {
    const id = "aB3456789012345678_-xy";
    const car = records.addCar({ ...newCar, id, colour: "violet", promisedAtMs: 9000 }, painter);
    expect(car).toMatchObject({ id, colour: "violet", promisedAtMs: 9000 });
    expect(records.addCar(newCar, painter)).toMatchObject({ colour: null, promisedAtMs: null });
    expect(faultOf(() => records.addCar({ ...newCar, id }, painter)).kind).toBe("conflict");
    expect(() => records.addCar({ ...newCar, promisedAtMs: 999 }, painter)).toThrow("can't be promised for before");
  });

  it("gets more panels, none twice", () => {
    const car = records.addCar(newCar, painter);
    const more = [
      { name: "roof", substrate: "steel" },
      { name: "aerial", substrate: "plastic" },
    ] as const;
    expect(records.addPanels(car.id, more, painter).panels.map(({ name }) => name)).toEqual([
      "bonnet",
      "roof",
      "aerial",
    ]);
    for (const name of ["bonnet", "roof"]) {
      const twice = [{ name, substrate: "steel" }] as const;
      expect(() => records.addPanels(car.id, twice, painter)).toThrow(`"${name}" is named twice`);
    }
    expect(() => records.addPanels("none", more, painter)).toThrow("no car none");
  });

  it("is promised, promised for later, and no more; what was said before stands in the log", () => {
    const car = records.addCar(newCar, painter);
    const told: string[] = [];
    records.onChange((carId) => told.push(carId));
    expect(records.promise(car.id, 5000, painter).promisedAtMs).toBe(5000);
    expect(records.promise(car.id, 7000, painter).promisedAtMs).toBe(7000);
    expect(records.promise(car.id, null, painter).promisedAtMs).toBeNull();
    expect(() => records.promise(car.id, 999, painter)).toThrow("can't be promised for before");
    expect(() => records.promise(car.id, Number.NaN, painter)).toThrow();
    const promises = records
      .entriesOf({ carId: car.id })
      .flatMap(({ kind, what }) => (kind === "promised" ? [what] : []));
    expect(promises.map(({ was, became }) => [was, became])).toEqual([
      [null, 5000],
      [5000, 7000],
      [7000, null],
    ]);
    expect(told).toEqual([car.id, car.id, car.id]);
  });
});

it("a coat keeps its batches, the limits at its finish, who entered it and when", () => {
  const car = records.addCar(newCar, painter);
  const limit: SprayCheck["limits"][number] = {
    ...{ what: "humidity", value: 55, min: null, max: 80, margin: 25, state: "inside", source: "sheet" },
    ...{ sensor: "pi/air", readingAtMs: 1990 },
  };
  const sprayCheck: SprayCheck = {
    ...{ atMs: 2000, place: "booth", sheetId: "demo-clear", state: "spray", limits: [limit] },
  };
  const batches = [{ component: "hardener", batch: "H-77" }];
  const entered = { ...plainCoat, panels: ["bonnet"], finishedAtMs: 2000, batches, sprayCheck };
  nowMs = 60_000;
  const [coat] = records.addCoats(car.id, entered, quality);
  expect(coat).toMatchObject({ ...entered, who: quality.who, enteredAtMs: 60_000, withdrawn: null });
});

it("a coat is signed off by whom, in which role and meaning what, as often as someone does", () => {
  const car = records.addCar(newCar, painter);
  const [coat] = records.addCoats(car.id, { ...plainCoat, finishedAtMs: 2000 }, painter);
  const coatId = coat?.id ?? "";
  records.signOff(coatId, "film build measured", quality);
  nowMs = 60_000;
  records.signOff(coatId, "released for delivery", quality);
  expect(records.signOffs(coatId)).toEqual([
    { coatId, meaning: "film build measured", ...quality, atMs: 50_000 },
    { coatId, meaning: "released for delivery", ...quality, atMs: 60_000 },
  ]);
  expect(() => records.signOff("none", "released", quality)).toThrow("no coat none");
});

describe("a coat that is released or held", () => {
  const aCoat = () => {
    const car = records.addCar(newCar, painter);
    return records.addCoats(car.id, { ...plainCoat, finishedAtMs: 2000 }, painter)[0]?.id ?? "";
  };

  it("says who did so and why, and neither after it was opened again", () => {
    const coat = aCoat();
    expect(records.coat(coat).verdict).toBeNull();
    const held = records.hold(coat, "runs in the film", quality);
    expect(held.verdict).toEqual({ state: "held", words: "runs in the film", ...quality, atMs: nowMs });
    expect(faultOf(() => records.signOff(coat, "released", quality)).message).toContain("runs in the film");
    expect(records.reopen(coat, "flatted and polished", quality).verdict).toBeNull();
    expect(records.signOff(coat, "released for delivery", quality).verdict).toMatchObject({ state: "released" });
    expect(records.hold(coat, "a claim", quality).verdict).toMatchObject({ state: "held" });
    records.reopen(coat, "settled", quality);
    expect(faultOf(() => records.reopen(coat, "again", quality)).kind).toBe("conflict");
    const kinds = records.entriesOf({ coatId: coat }).map(({ kind }) => kind);
    expect(kinds.slice(-5)).toEqual(["coat-held", "coat-reopened", "coat-signed-off", "coat-held", "coat-reopened"]);
  });

  it("keeps every answer to a deviation", () => {
    const coat = aCoat();
    records.answerDeviation(coat, "gap", "the sensor was being changed", quality);
    nowMs = 60_000;
    records.answerDeviation(coat, "gap", "and the panel was felt by hand", quality);
    expect(records.deviationAnswers(coat)).toEqual([
      { deviation: "gap", answer: "the sensor was being changed", who: quality.who, atMs: 50_000 },
      { deviation: "gap", answer: "and the panel was felt by hand", who: quality.who, atMs: 60_000 },
    ]);
  });

  it("is known by the bytes of a certificate, and of none that was not issued", () => {
    const coat = aCoat();
    const digest = "ab".repeat(32);
    const { carId } = records.coat(coat);
    expect(records.issueCertificate(carId, [coat], digest, quality)).toEqual({
      digest,
      carId,
      coatIds: [coat],
      who: quality.who,
      atMs: nowMs,
    });
    expect(records.certificate("cd".repeat(32))).toBeNull();
    expect(records.entriesOf({ coatId: coat }).at(-1)?.kind).toBe("certificate-issued");
    const other = records.addCar({ ...newCar, job: "J-2" }, painter);
    expect(faultOf(() => records.issueCertificate(other.id, [coat], digest, quality)).kind).toBe("not-found");
  });
});

describe("a sheet that a person wrote", () => {
  const written = { ...inventedSheet("demo-clear"), revision: inventedSheet("demo-clear").revision + 1 };

  it("serves new coats once it is approved, and is told with its author", () => {
    records.keepSheet(written, quality);
    const newest = () => records.sheets().find(({ id }) => id === written.id)?.revision;
    expect(newest()).toBe(written.revision - 1);
    nowMs = 60_000;
    expect(records.approveSheet(written.id, written.revision, quality)).toMatchObject({
      ...{ who: quality.who, role: "quality", keptAtMs: 50_000 },
      approved: { who: quality.who, atMs: 60_000 },
    });
    expect(newest()).toBe(written.revision);
    expect(faultOf(() => records.approveSheet(written.id, written.revision, quality)).kind).toBe("conflict");
    expect(records.keptSheets().filter(({ role }) => role === "quality")).toHaveLength(1);
  });

  it("is the next revision and no other, so that two who write at once hear of each other", () => {
    records.keepSheet(written, quality);
    const other = { ...written, name: "Other" };
    expect(faultOf(() => records.keepSheet(other, quality)).kind).toBe("conflict");
    expect(() => records.keepSheet({ ...other, revision: written.revision + 2 }, quality)).toThrow(
      `is ${written.revision + 1}, not`,
    );
  });
});

it("a check keeps what was told just before it", () => {
  const car = records.addCar(newCar, painter);
  const coatId = records.addCoats(car.id, { ...plainCoat, finishedAtMs: 2000 }, painter)[0]?.id ?? "";
  const check = { coatId, stage: "demask", atMs: 3000, ready: true, how: "thumb" } as const;
  const told = { likelyAtMs: 2900, safeAtMs: null };
  expect(records.addCheck({ ...check, told }, painter).told).toEqual(told);
  expect(records.addCheck(check, painter).told).toBeNull();
});

describe("an entry with a key", () => {
  it("is known by it, and is not taken a second time, whatever it holds", () => {
    const by = { ...painter, key: "0123456789abcdef" };
    expect(records.knows(by.key)).toBe(false);
    const car = records.addCar(newCar, by);
    expect(records.knows(by.key)).toBe(true);
    const told: string[] = [];
    records.onChange((carId) => told.push(carId));
    const fault = faultOf(() => records.addMove(car.id, "yard", 2000, by));
    expect([fault.kind, fault.text.key]).toEqual(["conflict", "record-fault.entered-already"]);
    expect(records.car(car.id).moves).toHaveLength(1);
    expect(told).toEqual([]);
  });

  it("that was refused is not known, so that it can be sent again", () => {
    const by = { ...painter, key: "0123456789abcdef" };
    expect(() => records.addMove("none", "yard", 2000, by)).toThrow("no car none");
    expect(records.knows(by.key)).toBe(false);
  });
});

it("each entry says by which clock it was made, and the head is the last of them", () => {
  const car = records.addCar(newCar, painter);
  const [entry] = records.entriesOf({ carId: car.id });
  expect(entry).toMatchObject({ clock: "by predictor", at: "1970-01-01T00:00:50.000Z" });
  expect(records.head()).toEqual({ seq: entry?.seq, hash: entry?.hash, atMs: 50_000 });
});

it("a sheet is entered once, however often it is kept", () => {
  const before = records.head()?.seq;
  for (const sheet of records.sheets()) records.keepSheet(sheet, painter);
  expect(records.head()?.seq).toBe(before);
});

describe("a warning", () => {
  const raised: WarningEvent = {
    ...{ event: "raised", id: "w1", rule: "cold", place: "booth", coatId: null, carId: null, urgency: "soon" },
    ...{ text: text("span.temperatures", { from: { celsius: 4 }, to: text("stage.sand") }), said: "4 °C to sand" },
  };
  const { event: _, said: __, ...asRaised } = raised;
  const open = { ...asRaised, raisedAtMs: 50_000, endedAtMs: null, answer: null, setAside: null };

  it("is open until it ends, and keeps who answered it and who set it aside", () => {
    records.addWarningEvent(raised, painter);
    expect(records.warningsOpen()).toEqual([open]);
    nowMs = 51_000;
    records.addWarningEvent({ event: "set aside", id: "w1", untilMs: 90_000, reason: "heating is on" }, painter);
    nowMs = 52_000;
    records.addWarningEvent({ event: "answered", id: "w1", done: "closed the gate" }, quality);
    const setAside = { who: painter.who, atMs: 51_000, untilMs: 90_000, reason: "heating is on" };
    const answer = { who: quality.who, atMs: 52_000, done: "closed the gate" };
    expect(records.warningsOpen()).toEqual([{ ...open, setAside, answer }]);
    nowMs = 53_000;
    records.addWarningEvent({ event: "ended", id: "w1" }, painter);
    expect(records.warningsOpen()).toEqual([]);
    expect(records.warningsEnded(53_000)).toEqual([{ ...open, setAside, answer, endedAtMs: 53_000 }]);
    expect(records.warningsEnded(53_001)).toEqual([]);
  });

  it("that was not raised, was raised already, or has ended takes nothing", () => {
    expect(faultOf(() => records.addWarningEvent({ event: "ended", id: "w1" }, painter)).kind).toBe("not-found");
    records.addWarningEvent(raised, painter);
    expect(faultOf(() => records.addWarningEvent(raised, painter)).kind).toBe("conflict");
    records.addWarningEvent({ event: "ended", id: "w1" }, painter);
    const answered: WarningEvent = { event: "answered", id: "w1", done: "late" };
    expect(() => records.addWarningEvent(answered, painter)).toThrow("Warning w1 has ended");
  });

  it("of a coat stands among the entries of its car and of the coat, with all that happened to it", () => {
    const car = records.addCar(newCar, painter);
    const [coat] = records.addCoats(car.id, { ...plainCoat, finishedAtMs: 2000 }, painter);
    const coatId = coat?.id ?? "";
    records.addWarningEvent({ ...raised, coatId, carId: car.id }, painter);
    records.addWarningEvent({ event: "answered", id: "w1", done: "covered it" }, painter);
    const kinds = ["coats-finished", "warning-raised", "warning-answered"];
    expect(records.entriesOf({ coatId }).map(({ kind }) => kind)).toEqual(kinds);
    expect(records.entriesOf({ carId: car.id }).map(({ kind }) => kind)).toEqual(["car-came", ...kinds]);
  });
});

it("people who were added and changed stand in the log, and nothing of a PIN, whatever is handed over with them", () => {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-entries-"));
  const kept = exampleRecords({ file: join(folder, "records.db") });
  const before = Number(kept.head()?.seq);
  const added = { event: "added", name: "An Invented", role: "painter", pin: "998877" } as const;
  kept.addPersonEvent(added, quality);
  kept.addPersonEvent({ event: "changed", name: "An Invented", change: "new PIN" }, quality);
  kept.close();
  const db = new Database(join(folder, "records.db"));
  const entries = db.prepare("SELECT entry FROM log WHERE seq > ? ORDER BY seq").pluck().all(before) as string[];
  db.close();
  rmSync(folder, { recursive: true });
  expect(entries.map((entry) => JSON.parse(entry).what)).toEqual([
    { name: "An Invented", role: "painter" },
    { name: "An Invented", change: "new PIN" },
  ]);
});

it("a fault can be told in another language, with the figures of its reader", () => {
  const car = records.addCar(newCar, painter);
  const fault = faultOf(() => records.addMove(car.id, "yard", 500, painter));
  const german = wordsOf({ language: "de", timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });
  expect(german.say(fault.text)).toBe("Das Auto kam um 1. Jan. 1970 01:00; eine Umstellung muss später sein.");
  expect(fault.message).toBe("The car came to the shop at 1 Jan 1970 00:00; a move must be later.");
  expect(Object.keys(de)).toContain(fault.text.key);
});
