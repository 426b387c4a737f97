import { describe, expect, it } from "vitest";
import type { CoatView } from "../../predictor/serve/api.ts";
import { coatNotes, coatWords, nextEventMs, railText } from "./coat-words.ts";
import { exampleCoat, exampleStage, minutes } from "./example-coat.ts";
import { exampleClock } from "./example-words.ts";

const clock = exampleClock();
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
  it("says early that a stage will not come today, or not surely, with the times of the day it comes", () => {
    const coat = exampleCoat("1", [exampleStage("demask", "not yet", 1452, 1460)]);
    const said = (state: "check first" | "not today") => {
      if (coat.prediction === null) throw new Error("the example has a prediction");
      coat.prediction.lateToday = { state, workEndsAt: new Date(minutes(540)).toISOString() };
      return coatWords(coat, clock, now).next;
    };
    expect(said("not today").text).toBe("Not today: unmask");
    expect(said("not today").times).toEqual([
      { time: "Tue 08:12", word: "likely" },
      { time: "08:20", word: "safe" },
    ]);
    expect(said("check first").text).toBe("Maybe not today: unmask");
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
    expect(said.gate).toEqual({
      state: "closing",
      time: "08:40",
      word: "shuts",
      detail: "Open window: next coat without sanding.",
    });
  });
  it("says what to do after a missed window, without a time", () => {
    expect(words("1", [], [["missed", 5, 20]]).gate).toEqual({
      state: "missed",
      time: null,
      word: "window missed",
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

describe("coatNotes", () => {
  const notesOf = (change: (prediction: NonNullable<CoatView["prediction"]>) => void) => {
    const coat = exampleCoat("1", [exampleStage("demask", "not yet", 20, 25)]);
    if (coat.prediction === null) throw new Error("the example has a prediction");
    change(coat.prediction);
    return coatNotes(coat, clock, now);
  };
  const texts = (change: Parameters<typeof notesOf>[0]) => notesOf(change).map(({ text }) => text);
  const uncovered = { kind: "uncovered", text: "Sheet does not cover this temperature" };

  it("says each kind of note once, in a few words, and leaves out what changes nothing", () => {
    const codes = ["gap", "gap", "held-back-to-finish"];
    const notes = codes.map((code) => ({ code, text: "…" }));
    expect(notesOf((prediction) => Object.assign(prediction, { notes }))).toEqual([
      { kind: "other", text: "Readings are missing" },
    ]);
  });
  it("says nothing of a coat without prediction, or with nothing to say", () => {
    expect(coatNotes({ ...exampleCoat("1", []), prediction: null }, clock, now)).toEqual([]);
    expect(notesOf(() => undefined)).toEqual([]);
  });
  it("says that the sheet does not cover it where the next stage hangs on it, and not for full cure, which nobody waits for", () => {
    const bare = (stage: "demask" | "full-cure") => ({ ...exampleStage(stage, "not yet", 20, 25), isCovered: false });
    const outside = [{ code: "outside-sheet", text: "The panel was at 21.0 °C; the sheet holds at 20 °C only." }];
    expect(notesOf((prediction) => Object.assign(prediction, { next: bare("demask") }))).toEqual([uncovered]);
    expect(notesOf((prediction) => Object.assign(prediction, { next: bare("full-cure"), notes: outside }))).toEqual([]);
  });
  it("says where a coat stops, in the predictor's words, before all that is less", () => {
    const notes = [
      { code: "panel-estimated", text: "…" },
      { code: "stalled", text: "It stops at 78 % until it is warmer." },
    ];
    expect(texts((prediction) => Object.assign(prediction, { notes }))).toEqual([
      "It stops at 78 % until it is warmer.",
      "Panel temperature estimated",
    ]);
  });
  it("says by when work ends where the next stage is late", () => {
    const late = (state: string) => ({ lateToday: { state, workEndsAt: new Date(minutes(540)).toISOString() } });
    expect(texts((prediction) => Object.assign(prediction, late("not today")))).toEqual([
      "Unmask not before work ends at 17:00",
    ]);
    expect(texts((prediction) => Object.assign(prediction, late("check first")))).toEqual([
      "Unmask maybe only after work ends at 17:00",
    ]);
  });
  it("says last what the shop's checks taught, and nothing before the first check", () => {
    const said = (percentSlower: number, checks = 14, isOff = false) =>
      texts((prediction) =>
        Object.assign(prediction, { lesson: { text: "", checks, percentSlower, sigma: 0.1, isOff } }),
      );
    expect(said(8.4)).toEqual(["This shop: 8 % slower than the sheet, from 14 checks"]);
    expect(said(-8.4, 1)).toEqual(["This shop: 8 % faster than the sheet, from 1 check"]);
    expect(said(0.4)).toEqual(["This shop: as the sheet says, from 14 checks"]);
    expect(said(8.4, 14, true)).toEqual(["This shop: as the sheet says; learning is off (14 checks so far)"]);
    expect(said(8.4, 0)).toEqual([]);
  });
});

describe("in German", () => {
  const german = exampleClock("de");
  it("the sentences keep the trade's forms", () => {
    const coat = exampleCoat(
      "1",
      [exampleStage("sand", "ready", 10, 12), exampleStage("demask", "not yet", 42, 49)],
      [["closing", 5, 40]],
    );
    const said = coatWords(coat, german, now);
    expect([said.now.text, said.next.text]).toEqual(["Bereit zum Schleifen", "Entmaskieren"]);
    expect(said.next.times.map(({ word }) => word)).toEqual(["erwartet", "sicher"]);
    expect(said.gate).toMatchObject({ word: "zu", time: "08:40" });
  });
  it("a window of a known sheet has its name, and one that is not known keeps its own", () => {
    const gateOf = (name: string) => {
      const coat = exampleCoat("1", [], [["open", 5, 40]]);
      for (const window of coat.prediction?.windows ?? []) window.for = name;
      return coatWords(coat, german, now).gate?.detail;
    };
    expect(gateOf("clearcoat without sanding")).toBe("Offenes Fenster: Klarlack ohne Schleifen.");
    expect(gateOf("second seal")).toBe("Offenes Fenster: second seal.");
  });
});
