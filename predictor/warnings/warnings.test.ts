import { describe, expect, it } from "vitest";
import { inventedSheets } from "../records/library.ts";
import { wordsOf } from "../words.ts";
import type { Condition } from "./condition.ts";
import { conditionsOf, type Situation } from "./rules.ts";
import { stepWarnings, type Tracked } from "./warnings.ts";

const words = wordsOf({ timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });
const nowMs = Date.parse("2026-03-02T08:00:00Z");
const calm: Situation = {
  nowMs,
  airC: 21,
  rhPercent: 50,
  panelC: 21,
  dewPointC: 10.2,
  equipment: { silent: [], bad: [], differing: [], calibrations: [], machines: [], storeFault: null },
  sheets: inventedSheets().filter((sheet) => sheet.id === "demo-clear"),
  coats: [],
  pots: [],
};
const rulesIn = (change: Partial<Situation>, active: string[] = []) =>
  conditionsOf({ ...calm, ...change }, (key) => active.includes(key), words).map((each) => each.rule);

describe("when to warn", () => {
  it("warns of nothing when all is well, or when nothing is sprayed or cures here", () => {
    expect(rulesIn({})).toEqual([]);
    expect(rulesIn({ airC: 2, rhPercent: 95, panelC: 2, dewPointC: 1.3, sheets: [] })).toEqual([]);
  });

  it.each([
    ["cold", { airC: 14.9 }],
    ["heat", { airC: 32.1 }],
    ["humidity", { rhPercent: 75.1 }],
    ["dew-point-margin", { panelC: 13.1 }],
  ] as const)("warns of %s just outside the limit and not on it", (rule, outside) => {
    expect(rulesIn(outside)).toEqual([rule]);
  });

  it.each([
    ["cold", { airC: 15.4 }, { airC: 15.6 }],
    ["heat", { airC: 31.6 }, { airC: 31.4 }],
    ["humidity", { rhPercent: 73.1 }, { rhPercent: 72.9 }],
    ["dew-point-margin", { panelC: 13.6 }, { panelC: 13.8 }],
  ] as const)("ends a warning of %s only past its deadband", (rule, inside, past) => {
    expect(rulesIn(inside, [rule])).toEqual([rule]);
    expect(rulesIn(inside)).toEqual([]);
    expect(rulesIn(past, [rule])).toEqual([]);
  });

  it("names the figure, the sheet and its limit, and what to do", () => {
    const [condition] = conditionsOf({ ...calm, rhPercent: 81.4 }, () => false, words);
    expect(condition?.text).toBe("81 % humidity, Invented air-dry clear allows 75 % at most");
    expect(condition?.action).toContain("Do not spray");
  });

  it("says early that a stage will not be reached before work ends, and when it likely will", () => {
    const likelyAtMs = nowMs + 20 * 3_600_000;
    const times = { likelyAtMs, safeAtMs: null, likelyMinutes: 1300, safeMinutes: null };
    const stage = { stage: "demask" as const, curePercent: 45, reached: false, isCovered: true, ...times };
    const late = { stage, state: "not today" as const, workEndsAtMs: nowMs + 3_600_000 };
    const coats = [{ id: "c1", name: "Van, door", windows: [], late }];
    expect(conditionsOf({ ...calm, coats }, () => false, words)).toMatchObject([
      {
        rule: "not-today",
        urgency: "soon",
        text: "Van, door: unmask not before work ends at 10:00; likely Tuesday 05:00",
        action: expect.stringContaining("warmer place or a bake"),
      },
    ]);
  });

  it("warns of a pot that is about to end, and not to spray one that may have ended", () => {
    const pot = { id: "m1", kind: "clearcoat", mixedAtMs: nowMs - 1_800_000, useByAtMs: nowMs + 300_000 };
    const of = (state: "good" | "closing" | "over" | "unknown") =>
      conditionsOf({ ...calm, pots: [{ ...pot, state }] }, () => false, words);
    expect(of("closing")).toMatchObject([
      { rule: "pot-life", urgency: "now", text: "clearcoat mixed 08:30: pot life may end at 09:05" },
    ]);
    expect(of("over")).toMatchObject([{ action: expect.stringContaining("Do not spray it") }]);
    expect([...of("good"), ...of("unknown")]).toEqual([]);
  });

  it("warns of a window that closes, then says what must be done once it was missed, for an hour", () => {
    const window = {
      for: "cover with surfacer",
      opensAtMs: nowMs - 60_000,
      closesAtMs: nowMs + 240_000,
      ifMissed: "pre-treat again",
    };
    const at = (state: "closing" | "missed" | "open", closesAtMs: number) =>
      conditionsOf(
        { ...calm, coats: [{ id: "c1", name: "Van, door", late: null, windows: [{ ...window, state, closesAtMs }] }] },
        () => false,
        words,
      )[0];
    expect(at("closing", nowMs + 240_000)).toMatchObject({
      urgency: "now",
      text: "Van, door: cover with surfacer by 09:04",
      action: "After that: pre-treat again.",
    });
    expect(at("missed", nowMs - 60_000)).toMatchObject({
      text: expect.stringContaining("too late"),
      action: "Now pre-treat again.",
    });
    expect(at("missed", nowMs - 61 * 60_000)).toBeUndefined();
    expect(at("open", nowMs + 900_000)).toBeUndefined();
  });
});

describe("the life of a warning", () => {
  const humid: Condition = {
    key: "humidity",
    rule: "humidity",
    urgency: "soon",
    text: "damp",
    action: "wait",
    coatId: null,
  };
  const active = (tracked: Map<string, Tracked>) => tracked.get("humidity")?.activeSinceMs ?? null;

  it("begins once its condition has held for 15 s and ends once it has not held for 30 s", () => {
    const tracked = new Map<string, Tracked>();
    expect(stepWarnings(tracked, [humid], 0)).toBe(false);
    expect(stepWarnings(tracked, [humid], 14_000)).toBe(false);
    expect(stepWarnings(tracked, [humid], 15_000)).toBe(true);
    expect(active(tracked)).toBe(15_000);
    expect(stepWarnings(tracked, [], 30_000)).toBe(false);
    expect(stepWarnings(tracked, [], 44_000)).toBe(false);
    expect(stepWarnings(tracked, [], 45_000)).toBe(true);
    expect(active(tracked)).toBeNull();
  });

  it("does not begin when the condition breaks off before", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [humid], 0);
    stepWarnings(tracked, [], 10_000);
    stepWarnings(tracked, [humid], 12_000);
    expect(stepWarnings(tracked, [humid], 20_000)).toBe(false);
    expect(active(tracked)).toBeNull();
  });

  it("does not end when the condition comes back in time", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [humid], 0);
    stepWarnings(tracked, [humid], 15_000);
    stepWarnings(tracked, [], 40_000);
    stepWarnings(tracked, [humid], 44_000);
    expect(stepWarnings(tracked, [], 60_000)).toBe(false);
    expect(active(tracked)).toBe(15_000);
  });

  it("tells of a changed text", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [humid], 0);
    stepWarnings(tracked, [humid], 15_000);
    expect(stepWarnings(tracked, [{ ...humid, text: "damper" }], 17_000)).toBe(true);
  });
});
