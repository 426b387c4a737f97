import { describe, expect, it } from "vitest";
import { coatWords, nextEventMs, railText, shortNotes } from "./coat-words.ts";
import { exampleCoat, exampleStage, minutes } from "./example-coat.ts";
import { shopClock } from "./shop-clock.ts";

const clock = shopClock("UTC", "24h");
const now = minutes(30);
const words = (...coat: Parameters<typeof exampleCoat>) => coatWords(exampleCoat(...coat), clock, now);

describe("coatWords", () => {
  it("says what is ready and what comes next with both clock times", () => {
    const said = words("1", [
      exampleStage("dust-free", "ready", 10, 12),
      exampleStage("sand", "ready", 20, 25),
      exampleStage("demask", "not yet", 42, 49),
    ]);
    expect(said.now).toEqual({ mark: "ready", text: "Ready to sand" });
    expect(said.next).toEqual({
      mark: "not yet",
      text: "Unmask",
      times: [
        { time: "08:42", word: "likely" },
        { time: "08:49", word: "safe" },
      ],
    });
    expect(said.cautious).toBe(true);
  });
  it("asks for a check once, while a stage is likely but not safe", () => {
    const alone = words("1", [exampleStage("sand", "check first", 28, 35)]);
    expect(alone.now).toEqual({ mark: "check first", text: "Check first: sand" });
    expect(alone.next).toEqual({ mark: "check first", text: "Sand", times: [{ time: "08:35", word: "safe" }] });
    const after = words("1", [exampleStage("dust-free", "ready", 10, 12), exampleStage("sand", "check first", 28, 35)]);
    expect(after.now.text).toBe("Ready: dust free");
    expect(after.next.text).toBe("Check first: sand");
  });
  it("needs no caution while nothing is ready or likely", () => {
    const said = words("1", [exampleStage("touch-dry", "not yet", 40, 45)]);
    expect(said.now.text).toBe("Nothing ready yet");
    expect(said.cautious).toBe(false);
  });
  it("says that a stage has no time in this air", () => {
    expect(words("1", [exampleStage("sand", "not yet", null, null)]).next).toEqual({
      mark: "not yet",
      text: "Sand: no time in this air",
      times: [],
    });
  });
  it("says that nothing is left to wait for", () => {
    expect(words("1", [exampleStage("sand", "ready", 5, 6)]).next.text).toBe("No stage left to wait for");
  });
  it("gives the reason where there is no prediction", () => {
    const coat = { ...exampleCoat("1", []), prediction: null, why: "No reading." };
    const said = coatWords(coat, clock, now);
    expect([said.now.mark, said.now.text, said.next.text]).toEqual(["unknown", "No times yet", "No reading."]);
    expect(nextEventMs(coat)).toBe(Number.POSITIVE_INFINITY);
  });
  it("shows the closing window before an open one, with the time it shuts", () => {
    const said = words(
      "1",
      [],
      [
        ["open", 5, 90],
        ["closing", 5, 40],
      ],
    );
    expect(said.gate).toEqual({ state: "closing", time: "08:40", detail: "Open window: next coat without sanding." });
  });
  it("says what to do after a missed window, without a time", () => {
    expect(words("1", [], [["missed", 5, 20]]).gate).toEqual({
      state: "missed",
      time: null,
      detail: "Missed: next coat without sanding. Now sand first.",
    });
    expect(words("1", [], [["not open", 50, 60]]).gate).toBeNull();
  });
});

describe("nextEventMs", () => {
  it("is the earlier of the next stage and the shutting of an open window", () => {
    const stages = [exampleStage("sand", "not yet", 60, 70)];
    expect(nextEventMs(exampleCoat("1", stages, [["open", 5, 40]]))).toBe(minutes(40));
    expect(nextEventMs(exampleCoat("1", stages, [["missed", 5, 20]]))).toBe(minutes(60));
  });
  it("is the safe time while a check is due", () => {
    expect(nextEventMs(exampleCoat("1", [exampleStage("sand", "check first", 20, 45)]))).toBe(minutes(45));
  });
});

describe("railText", () => {
  it("tells the whole rail: finish, stages with states, windows, bands", () => {
    const coat = exampleCoat("1", [exampleStage("sand", "not yet", 42, 49)], [["open", 5, null]]);
    expect(railText(coat, clock, now)).toBe(
      "Time rail of Blue hatch, Demo clear: finished 08:00; sand not yet, likely 08:42, safe 08:49; " +
        "window for next coat without sanding open, from 08:05 to unknown; Booth from 08:00.",
    );
  });
});

describe("shortNotes", () => {
  it("says each kind of note once, in a few words, and leaves out what changes nothing", () => {
    const coat = exampleCoat("1", [exampleStage("sand", "not yet", 20, 25)]);
    if (coat.prediction === null) throw new Error("the example has a prediction");
    coat.prediction.notes = ["gap", "gap", "held-back-to-finish", "outside-sheet"].map((code) => ({ code, text: "…" }));
    expect(shortNotes(coat)).toEqual(["Readings are missing", "Panel outside the sheet's temperatures"]);
    expect(shortNotes({ ...coat, prediction: null })).toEqual([]);
  });
});
