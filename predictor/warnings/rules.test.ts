import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import { inventedSheets } from "../records/library.ts";
import type { CoatNow } from "./coat-rules.ts";
import { conditionsOf as conditionTextsOf, type Situation } from "./rules.ts";

const words = wordsOf({ language: "en", timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });
const nowMs = Date.parse("2026-03-02T08:00:00Z");
const calm: Situation = {
  nowMs,
  airC: 21,
  rhPercent: 50,
  panelC: 21,
  dewPointC: 10.2,
  hours: [],
  equipment: {
    silent: [],
    bad: [],
    differing: [],
    calibrations: [],
    machines: [],
    storeFault: null,
    storeAway: false,
    recordsFault: null,
  },
  sheets: inventedSheets().filter((sheet) => sheet.id === "demo-clear"),
  coats: [],
  pots: [],
};
const conditionsOf = (change: Partial<Situation>, active: string[] = []) =>
  conditionTextsOf({ ...calm, ...change }, (key) => active.includes(key)).map((condition) => ({
    ...condition,
    text: words.say(condition.text),
    consequence: words.say(condition.consequence),
    action: words.say(condition.action),
  }));
const rulesIn = (change: Partial<Situation>, active: string[] = []) =>
  conditionsOf(change, active).map((each) => each.rule);
const coat: CoatNow = {
  id: "c1",
  carId: "car1",
  name: text("coat.name", { car: "Van", panels: ["door"], kind: "clearcoat" }),
  windows: [],
  stages: [],
  late: null,
  isWet: false,
  wetUntilMs: null,
  movedWetAtMs: null,
  promisedAtMs: null,
  slip: null,
};
const minuteMs = 60_000;

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
    const [condition] = conditionsOf({ rhPercent: 81.4 });
    expect(condition?.text).toBe("81 % humidity, Invented air-dry clear allows 75 % at most");
    expect(condition?.action).toContain("Do not spray");
  });

  it("says early that a stage will not be reached before work ends, and when it likely will", () => {
    const likelyAtMs = nowMs + 20 * 3_600_000;
    const times = { likelyAtMs, safeAtMs: null, likelyMinutes: 1300, safeMinutes: null };
    const stage = { stage: "demask" as const, curePercent: 45, reached: false, isCovered: true, ...times };
    const late = { stage, state: "not today" as const, workEndsAtMs: nowMs + 3_600_000 };
    const coats = [{ ...coat, late }];
    expect(conditionsOf({ coats })).toMatchObject([
      {
        rule: "not-today",
        urgency: "today",
        untilMs: nowMs + 3_600_000,
        text: "Van, door (clearcoat): unmask not before work ends at 10:00; likely Tue 05:00",
        action: expect.stringContaining("warmer place or a bake"),
      },
    ]);
    const likelyBefore = (minutes: number) => ({
      coats: [
        {
          ...coat,
          late: {
            ...late,
            state: "check first" as const,
            stage: { ...stage, likelyAtMs: late.workEndsAtMs - minutes * minuteMs },
          },
        },
      ],
    });
    expect(rulesIn(likelyBefore(4))).toEqual([]);
    expect(rulesIn(likelyBefore(4), ["not-today/c1"])).toEqual(["not-today"]);
    expect(rulesIn(likelyBefore(5), ["not-today/c1"])).toEqual([]);
  });

  it("warns of a pot that is about to end, and not to spray one that may have ended", () => {
    const times = { mixedAtMs: nowMs - 1_800_000, closingFromMs: nowMs, useByAtMs: nowMs + 300_000 };
    const pot = { id: "m1", place: "mixing", kind: "clearcoat", ...times };
    const later = (minutes: number, ...active: string[]) =>
      conditionsOf({ nowMs: nowMs + minutes * minuteMs, pots: [pot] }, active);
    expect(later(0)).toMatchObject([
      {
        rule: "pot-life",
        urgency: "now",
        untilMs: nowMs + 300_000,
        text: "clearcoat mixed 08:30: pot life may end at 09:05",
      },
    ]);
    expect(later(5)).toMatchObject([{ action: expect.stringContaining("Do not spray it") }]);
    expect(later(-1)).toEqual([]);
    expect(conditionsOf({ pots: [{ ...pot, closingFromMs: null, useByAtMs: null }] })).toEqual([]);
    // Two facts, and neither flickers while the reckoned end does.
    const [closing, over] = [later(0)[0]?.key ?? "", later(5)[0]?.key ?? ""];
    expect(over).not.toBe(closing);
    expect(later(-1, closing)).toHaveLength(1);
    expect(later(4, over)[0]?.key).toBe(over);
    expect(later(2.9, over)[0]?.key).toBe(closing);
  });

  it("warns of a window that closes, then says what must be done once it was missed, for an hour", () => {
    const window = {
      for: "cover with surfacer",
      opensAtMs: nowMs - 60_000,
      ifMissed: "pre-treat again",
    };
    const at = (state: "closing" | "missed" | "open", closesAtMs: number, ...active: string[]) => {
      const times = { closesAtMs, closingFromMs: closesAtMs - 5 * minuteMs };
      return conditionsOf({ coats: [{ ...coat, windows: [{ ...window, state, ...times }] }] }, active)[0];
    };
    expect(at("closing", nowMs + 240_000)).toMatchObject({
      urgency: "now",
      rule: "window-closing",
      untilMs: nowMs + 240_000,
      text: "Van, door (clearcoat): cover with surfacer by 09:04",
      action: "Do it now. After that: pre-treat again.",
    });
    expect(at("missed", nowMs - 60_000)).toMatchObject({
      rule: "window-missed",
      text: expect.stringContaining("too late"),
      action: "Now pre-treat again.",
    });
    expect(at("missed", nowMs - 61 * 60_000)).toBeUndefined();
    expect(at("open", nowMs + 900_000)).toBeUndefined();
    const closing = at("closing", nowMs + 240_000)?.key ?? "";
    expect(at("open", nowMs + 6.9 * minuteMs, closing)?.rule).toBe("window-closing");
    expect(at("open", nowMs + 7.1 * minuteMs, closing)).toBeUndefined();
    const missed = at("missed", nowMs - 60_000)?.key ?? "";
    expect(at("closing", nowMs + 1.9 * minuteMs, missed)?.rule).toBe("window-missed");
    expect(at("closing", nowMs + 2.1 * minuteMs, missed)?.rule).toBe("window-closing");
  });

  it("warns of water on a fresh coat, and of a margin only where none is fresh", () => {
    const wet = { coats: [{ ...coat, isWet: true, wetUntilMs: nowMs + 10 * minuteMs }] };
    expect(rulesIn({ ...wet, panelC: 10.1 })).toEqual(["condensation"]);
    expect(rulesIn({ panelC: 10.1 })).toEqual(["dew-point-margin"]);
    expect(rulesIn({ ...wet, panelC: 12 })).toEqual(["dew-point-margin"]);
  });

  it("warns that the margin will go while a coat is still wet, and not of what comes after", () => {
    const hours = [
      { atMs: nowMs + 20 * minuteMs, airC: 16 },
      { atMs: nowMs + 50 * minuteMs, airC: 13 },
    ];
    const wetFor = (minutes: number) => ({
      hours,
      coats: [{ ...coat, isWet: true, wetUntilMs: nowMs + minutes * minuteMs }],
    });
    expect(conditionsOf(wetFor(60))).toMatchObject([
      {
        rule: "dew-point-ahead",
        untilMs: nowMs + 50 * minuteMs,
        text: "Less than 3 °C over the dew point from 09:50, a coat is still wet",
      },
    ]);
    expect(rulesIn(wetFor(40))).toEqual([]);
    expect(rulesIn({ hours })).toEqual([]);
    expect(rulesIn({ ...wetFor(60), hours: [] })).toEqual([]);
  });

  it("warns that a promise will not be kept, by the last step before the car is handed over", () => {
    const stage = (name: "demask" | "polish", safeMinutes: number | null) => ({
      stage: name,
      curePercent: 50,
      reached: false,
      isCovered: true,
      likelyAtMs: nowMs,
      likelyMinutes: 1,
      safeAtMs: safeMinutes === null ? null : nowMs + safeMinutes * minuteMs,
      safeMinutes,
    });
    const promisedIn = (minutes: number, polish: number | null) => ({
      coats: [
        { ...coat, promisedAtMs: nowMs + minutes * minuteMs, stages: [stage("demask", 10), stage("polish", polish)] },
      ],
    });
    expect(conditionsOf(promisedIn(60, 90))).toMatchObject([
      {
        rule: "promise",
        urgency: "today",
        untilMs: nowMs + 60 * minuteMs,
        text: "Van, door (clearcoat): polish safe 10:30, promised 10:00",
      },
    ]);
    expect(rulesIn(promisedIn(60, null))).toEqual(["promise"]);
    expect(rulesIn(promisedIn(90, 90))).toEqual([]);
    const keyOf = (minutes: number) => `promise/c1/${nowMs + minutes * minuteMs}`;
    expect(rulesIn(promisedIn(94, 90), [keyOf(94)])).toEqual(["promise"]);
    expect(rulesIn(promisedIn(95, 90), [keyOf(95)])).toEqual([]);
    // Another promise is another fact: what was done about the first says nothing of it.
    expect(conditionsOf(promisedIn(60, 90))[0]?.key).not.toBe(conditionsOf(promisedIn(80, 90))[0]?.key);
    expect(rulesIn(promisedIn(-61, 90))).toEqual([]);
  });

  it("says for an hour that a wet coat was moved", () => {
    const moved = (minutesAgo: number) => ({ coats: [{ ...coat, movedWetAtMs: nowMs - minutesAgo * minuteMs }] });
    expect(conditionsOf(moved(5))[0]?.text).toBe("Van, door (clearcoat): moved at 08:55 while still wet");
    expect(rulesIn(moved(61))).toEqual([]);
  });

  it("tells the old and the new time of a step that slipped", () => {
    const slip = { stage: "sand" as const, toldAtMs: nowMs + 20 * minuteMs, likelyAtMs: nowMs + 50 * minuteMs };
    expect(conditionsOf({ coats: [{ ...coat, slip }] })[0]?.text).toBe(
      "Van, door (clearcoat): sand now likely 09:50, was 09:20",
    );
    // What slips again after that was told is another fact.
    const again = { ...slip, toldAtMs: slip.likelyAtMs, likelyAtMs: nowMs + 90 * minuteMs };
    const keyOf = (each: typeof slip) => conditionsOf({ coats: [{ ...coat, slip: each }] })[0]?.key;
    expect(keyOf(again)).not.toBe(keyOf(slip));
    expect(keyOf({ ...slip, likelyAtMs: again.likelyAtMs })).toBe(keyOf(slip));
  });

  it("says of each warning what is the matter, what follows and what to do, in words that fit the wall", () => {
    const all = conditionsOf({
      airC: 5,
      rhPercent: 90,
      panelC: 1,
      coats: [{ ...coat, isWet: true, movedWetAtMs: nowMs }],
    });
    expect(all.map(({ rule }) => rule)).toEqual(["cold", "humidity", "condensation", "moved-wet"]);
    for (const { text: said, consequence, action } of all) {
      for (const sentence of [said, consequence, action]) expect(sentence.length).toBeGreaterThan(5);
      expect(action.length).toBeLessThanOrEqual(80);
    }
  });
});
