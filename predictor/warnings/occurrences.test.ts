import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import { type By, Records } from "../records/records.ts";
import { ofPlace, type Standing } from "./condition.ts";
import { Occurrences } from "./occurrences.ts";

const painter: By = { who: "Paul", role: "painter" };
const words = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });
const full: Standing = {
  ...ofPlace,
  key: "store",
  rule: "store",
  urgency: "now",
  text: text("warn.store", { fault: "disk full" }),
  consequence: text("warn.store.else"),
  action: text("warn.store.do"),
  place: "booth",
  alsoAt: ["prep"],
};

let nowMs: number;
let logged: string[];
let records: Records;
let occurrences: Occurrences;

function start(): Occurrences {
  const write = (line: string) => logged.push(JSON.parse(line).msg);
  return new Occurrences({ records, words, now: () => nowMs, logger: pino({ level: "warn" }, { write }) });
}
/** Until it is called back, nothing can be recorded. */
function fillDisk(): () => void {
  const spy = vi.spyOn(records, "addWarningEvent").mockImplementation(() => {
    throw new Error("disk full");
  });
  return () => spy.mockRestore();
}

beforeEach(() => {
  nowMs = Date.parse("2026-03-02T08:00:00Z");
  logged = [];
  records = new Records({ file: ":memory:", now: () => nowMs, clock: () => "synchronised" });
  occurrences = start();
});
afterEach(() => {
  vi.restoreAllMocks();
  records.close();
});

describe("the record of a warning", () => {
  it("is made up for once there is room: that it was raised, and that it ended", () => {
    let makeRoom = fillDisk();
    occurrences.begin(full);
    const occurrence = occurrences.of("store");
    if (occurrence === undefined) throw new Error("not there");
    occurrences.tidy();
    expect(logged).toEqual(["what happens to warnings can't be recorded now"]);
    expect(() => occurrences.answer(occurrence, "seen to", painter)).toThrow("disk full");
    expect(occurrence.answer).toBeNull();
    makeRoom();
    occurrences.answer(occurrence, "seen to", painter);
    expect(records.warningsOpen()).toMatchObject([{ id: occurrence.id, answer: { who: "Paul" } }]);

    makeRoom = fillDisk();
    occurrences.end("store");
    expect(records.warningsOpen()).toHaveLength(1);
    makeRoom();
    occurrences.tidy();
    expect(records.warningsOpen()).toEqual([]);
  });

  it("that the records refuse is given up, and holds up nothing that comes after", () => {
    occurrences.begin(full);
    records.addWarningEvent({ event: "ended", id: occurrences.of("store")?.id ?? "" }, painter);
    occurrences.end("store");
    nowMs += 1;
    occurrences.begin(full);
    expect(records.warningsOpen()).toHaveLength(1);
    expect(logged).toEqual(["the records refuse what happened to a warning"]);
  });

  it("whose end was lost with a restart is ended by the next run, also where the same fact has come again", () => {
    occurrences.begin(full);
    const makeRoom = fillDisk();
    occurrences.end("store");
    makeRoom();
    nowMs += 1;
    const [first] = records.warningsOpen();
    const { rule, place, urgency } = full;
    const next = { id: `${first?.id.split("-")[0]}-next`, rule, place, urgency, text: full.text, said: "full" };
    records.addWarningEvent({ event: "raised", ...next, coatId: null, carId: null }, painter);
    occurrences = start();
    expect(records.warningsOpen()).toMatchObject([{ id: next.id }]);
    nowMs += 5 * 60_000;
    occurrences.tidy();
    expect(records.warningsOpen()).toEqual([]);
  });
});
