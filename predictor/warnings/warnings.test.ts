import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { wordsOf } from "../../words/words.ts";
import { RecordFault } from "../records/record-fault.ts";
import { type By, Records } from "../records/records.ts";
import type { Equipment } from "./equipment.ts";
import type { NoticeData } from "./notices.ts";
import { Warnings } from "./warnings.ts";

const painter: By = { who: "Paul", role: "painter" };
const minuteMs = 60_000;
const words = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });
const place = (name: string) => ({ name, kind: "booth" as const, sensors: { "air-temperature": "pi/air" } });

let nowMs: number;
let trouble: Partial<Equipment>;
let records: Records;
let warnings: Warnings;
let notices: NoticeData[];
let changed: string[];

function start(): Warnings {
  const made = new Warnings({
    shopFile: { places: { booth: place("Booth"), prep: place("Prep") } },
    follow: { current: () => undefined, coatsAt: () => [], outlook: () => null },
    records,
    pots: { at: () => [] },
    equipment: {
      at: (at) => ({
        silent: [],
        bad: [],
        differing: [],
        calibrations: [],
        machines: [],
        storeFault: null,
        recordsFault: null,
        ...(at === "booth" ? trouble : {}),
      }),
    },
    shopTime: { workEndsAtMs: () => null },
    now: () => nowMs,
    words,
    logger: pino({ level: "silent" }),
  });
  made.onNotice((notice) => notices.push(notice));
  made.onChange((at) => changed.push(at));
  return made;
}

beforeEach(() => {
  nowMs = Date.parse("2026-03-02T08:00:00Z");
  trouble = {};
  notices = [];
  changed = [];
  records = new Records({ file: ":memory:", now: () => nowMs, clock: () => "synchronised" });
  warnings = start();
});
afterEach(() => {
  vi.restoreAllMocks();
  records.close();
});

const silent = { silent: [{ quantity: "air-temperature", sensor: "pi/air", lastAtMs: null }] } as const;
const check = (minutes = 0) => {
  nowMs += minutes * minuteMs;
  warnings.check();
};
const said = () => notices.map(({ text }) => words.say(text));
const sensorSays = "Sensor pi/air (air temperature) has sent nothing yet";

describe("a warning", () => {
  it("is raised, told once, recorded, and over when its fact is", () => {
    trouble = silent;
    check();
    check(1);
    expect(warnings.at("booth")).toMatchObject([{ rule: "silent-sensor", state: "open", answer: null }]);
    expect(warnings.at("prep")).toEqual([]);
    expect(said()).toEqual([sensorSays]);
    expect(records.warningsOpen()).toMatchObject([{ rule: "silent-sensor", place: "booth" }]);
    trouble = {};
    check(1);
    expect(warnings.all()).toEqual([]);
    expect(warnings.ended()).toMatchObject([{ rule: "silent-sensor", endedAtMs: nowMs }]);
    expect(changed).toEqual(["booth", "booth"]);
  });

  it("that was answered is not said again for the same fact, and is said again for the next", () => {
    trouble = silent;
    check();
    const id = warnings.at("booth")[0]?.id ?? "";
    warnings.answer(id, "seen to", painter);
    check(60);
    expect(warnings.at("booth")).toMatchObject([{ state: "answered", answer: { who: "Paul", done: "seen to" } }]);
    expect(said()).toHaveLength(1);
    trouble = {};
    check(1);
    trouble = silent;
    check(1);
    expect(warnings.at("booth")).toMatchObject([{ state: "open" }]);
    expect(warnings.at("booth")[0]?.id).not.toBe(id);
    expect(said()).toHaveLength(2);
  });

  it("that was set aside comes back when its time is over, and is told again", () => {
    trouble = silent;
    check();
    warnings.setAside(warnings.at("booth")[0]?.id ?? "", 30, "known, under way", painter);
    check(29);
    expect(warnings.at("booth")).toMatchObject([{ state: "set aside", setAside: { reason: "known, under way" } }]);
    expect(said()).toHaveLength(1);
    check(1);
    expect(warnings.at("booth")).toMatchObject([{ state: "open" }]);
    expect(said()).toEqual([sensorSays, sensorSays]);
  });

  it("can't be answered when it is over, nor set aside when it was answered", () => {
    expect(() => warnings.answer("none", "seen to", painter)).toThrow(RecordFault);
    trouble = silent;
    check();
    const id = warnings.at("booth")[0]?.id ?? "";
    warnings.answer(id, "seen to", painter);
    expect(() => warnings.setAside(id, 5, "later", painter)).toThrow(/answered already/);
  });

  it("of the whole machine stands on every wall, and is told and answered once", () => {
    trouble = { storeFault: "disk full" };
    check();
    check(0.2);
    expect(warnings.at("prep")).toMatchObject([{ rule: "store", urgency: "now" }]);
    expect(warnings.all()).toHaveLength(1);
    expect(notices).toHaveLength(1);
    expect(changed).toEqual(["booth", "prep"]);
    warnings.answer(warnings.at("prep")[0]?.id ?? "", "seen to", painter);
    expect(warnings.at("booth")[0]?.state).toBe("answered");
  });

  it("is shown even where nothing can be recorded", () => {
    vi.spyOn(records, "addWarningEvent").mockImplementation(() => {
      throw new Error("disk full");
    });
    trouble = silent;
    check();
    expect(warnings.at("booth")).toHaveLength(1);
    expect(notices).toHaveLength(1);
  });
});

describe("after a restart", () => {
  it("a warning that still holds is the same one, is not told again, and stays answered", () => {
    trouble = silent;
    check();
    const [before] = warnings.at("booth");
    warnings.answer(before?.id ?? "", "seen to", painter);
    warnings = start();
    check(1);
    expect(warnings.at("booth")).toMatchObject([{ id: before?.id, sinceMs: before?.sinceMs, state: "answered" }]);
    expect(said()).toHaveLength(1);
  });

  it("one that does not show within five minutes is over", () => {
    trouble = silent;
    check();
    trouble = {};
    warnings = start();
    check(4);
    expect(records.warningsOpen()).toHaveLength(1);
    check(1);
    expect(records.warningsOpen()).toEqual([]);
  });
});
