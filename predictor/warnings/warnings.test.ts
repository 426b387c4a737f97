import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { wordsOf } from "../../words/words.ts";
import type { Pot } from "../follow/pots.ts";
import { inventedSheets } from "../records/library.ts";
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
/** True of this machine, and so told by every place. */
let everywhere: Partial<Equipment>;
let pots: Pot[];
let records: Records;
let warnings: Warnings;
let notices: NoticeData[];
let changed: string[];

function start(): Warnings {
  const made = new Warnings({
    shopFile: { places: { booth: place("Booth"), prep: place("Prep") } },
    follow: { current: () => undefined, coatsAt: () => [], outlook: () => null },
    records,
    // Both places spray from every pot.
    pots: { at: () => pots },
    equipment: {
      at: (at) => ({
        silent: [],
        bad: [],
        differing: [],
        calibrations: [],
        machines: [],
        storeFault: null,
        storeAway: false,
        recordsFault: null,
        ...everywhere,
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
  everywhere = {};
  pots = [];
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
/** It stands in the preparation, and is to be used up within so many minutes. */
function aPot(minutes: number, closingIn = 0): Pot {
  const sheet = inventedSheets().find(({ id }) => id === "demo-clear");
  if (sheet === undefined) throw new Error("no sheets");
  const mixedAtMs = nowMs - 30 * minuteMs;
  const useByAtMs = nowMs + minutes * minuteMs;
  const mix = { id: "m1", sheetId: sheet.id, sheetRevision: 1, place: "prep", mixedAtMs, litres: 1, batches: [] };
  return {
    mix: { ...mix, emptiedAtMs: null, who: "Paul" },
    sheet,
    life: { usedShare: 0.5, endsAtMs: useByAtMs + minuteMs, useByAtMs },
    state: "closing",
    closingFromMs: nowMs + closingIn * minuteMs,
  };
}
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
    check(5);
    expect(warnings.all()).toEqual([]);
    expect(warnings.ended()).toMatchObject([{ rule: "silent-sensor", endedAtMs: nowMs }]);
    expect(new Set(changed)).toEqual(new Set(["booth"]));
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
    check(5);
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
    everywhere = { storeFault: "disk full" };
    check();
    check(0.2);
    expect(warnings.at("prep")).toMatchObject([{ rule: "store", urgency: "now" }]);
    expect(warnings.all()).toMatchObject([{ place: "booth", alsoAt: ["prep"] }]);
    expect(notices).toHaveLength(1);
    expect(new Set(changed)).toEqual(new Set(["booth", "prep"]));
    warnings.answer(warnings.at("prep")[0]?.id ?? "", "seen to", painter);
    expect(warnings.at("booth")[0]?.state).toBe("answered");
  });

  it("of the whole machine leaves every wall at once when it is over", () => {
    everywhere = { storeFault: "disk full" };
    check();
    check(0.2);
    changed = [];
    everywhere = {};
    check(5);
    expect(warnings.at("prep")).toEqual([]);
    expect(new Set(changed)).toEqual(new Set(["booth", "prep"]));
  });

  it("of a pot is one, where it stands and wherever it is sprayed: told, answered and recorded once", () => {
    pots = [aPot(9)];
    check();
    expect(warnings.all()).toMatchObject([{ rule: "pot-life", place: "prep", alsoAt: ["booth"] }]);
    expect(warnings.at("booth")).toEqual(warnings.at("prep"));
    expect(notices).toHaveLength(1);
    expect(records.warningsOpen()).toHaveLength(1);
    warnings.answer(warnings.at("booth")[0]?.id ?? "", "sprayed", painter);
    expect(warnings.at("prep")).toMatchObject([{ state: "answered" }]);
    pots = [];
    check();
    expect(warnings.all()).toEqual([]);
    expect(records.warningsOpen()).toEqual([]);
  });

  it("that a pot is over is said although the first one, that it ends soon, was answered", () => {
    pots = [aPot(9)];
    check();
    warnings.answer(warnings.all()[0]?.id ?? "", "sprayed soon", painter);
    check(10);
    expect(warnings.all()).toMatchObject([{ state: "open", urgency: "soon" }]);
    expect(said()[1]).toContain("pot life may be over since");
  });

  it("that was answered, and is gone and back within five minutes, is no news", () => {
    trouble = silent;
    check();
    const id = warnings.all()[0]?.id ?? "";
    warnings.answer(id, "seen to", painter);
    for (let round = 0; round < 5; round++) {
      trouble = {};
      check(4.9);
      trouble = silent;
      check(1);
    }
    expect(warnings.all()).toMatchObject([{ id, state: "answered" }]);
    expect(said()).toHaveLength(1);
  });

  it("reaches people at most ten times in ten minutes, however many there are", () => {
    const sensors = Array.from({ length: 40 }, (_, index) => `pi/${index}`);
    for (let second = 0; second < 1200; second += 2) {
      const heard = sensors.filter((_, index) => index * 30 > second);
      trouble = {
        silent: sensors
          .filter((sensor) => !heard.includes(sensor))
          .map((sensor) => ({ quantity: "air-temperature", sensor, lastAtMs: null })),
      };
      check(2 / 60);
    }
    const times = notices.map(({ atMs }) => atMs);
    const most = Math.max(...times.map((from) => times.filter((at) => at >= from && at < from + 600_000).length));
    expect(notices.reduce((sum, { count }) => sum + count, 0)).toBeGreaterThanOrEqual(39);
    expect(most).toBeLessThanOrEqual(10);
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

  it("one that was set aside is told again when its time is over, and once only", () => {
    trouble = silent;
    check();
    warnings.setAside(warnings.at("booth")[0]?.id ?? "", 30, "known, under way", painter);
    warnings = start();
    check(29);
    expect(said()).toHaveLength(1);
    check(1);
    expect(said()).toEqual([sensorSays, sensorSays]);
    warnings = start();
    check(1);
    expect(said()).toHaveLength(2);
    warnings.setAside(warnings.at("booth")[0]?.id ?? "", 30, "known, under way", painter);
    nowMs += 40 * minuteMs;
    warnings = start();
    check();
    expect(warnings.at("booth")).toMatchObject([{ state: "open" }]);
    expect(said()).toHaveLength(3);
  });

  it("one that holds in its deadband only goes on", () => {
    pots = [aPot(9)];
    check();
    const [before] = warnings.all();
    pots = [aPot(9, 1)];
    warnings = start();
    check();
    expect(warnings.all()).toMatchObject([{ id: before?.id }]);
    check(6);
    expect(records.warningsOpen()).toHaveLength(1);
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
