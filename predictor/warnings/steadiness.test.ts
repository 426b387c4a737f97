import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import type { StageOutcome } from "../cure/climb.ts";
import { inventedSheets } from "../records/library.ts";
import type { CoatNow } from "./coat-rules.ts";
import { type Rule, rules } from "./condition.ts";
import type { Equipment } from "./equipment.ts";
import { gather } from "./gather.ts";
import { stepWarnings, type Tracked } from "./life.ts";
import type { Situation } from "./rules.ts";
import { Slips } from "./slips.ts";
import { steadiness } from "./steadiness.ts";

const minuteMs = 60_000;
const startMs = Date.parse("2026-03-02T08:00:00Z");
const everyMs = 2_000;
const well: Equipment = {
  silent: [],
  bad: [],
  differing: [],
  calibrations: [],
  machines: [],
  storeFault: null,
  storeAway: false,
  recordsFault: null,
};
const calm: Situation = {
  nowMs: startMs,
  airC: 21,
  rhPercent: 50,
  panelC: 21,
  dewPointC: 10,
  hours: [],
  equipment: well,
  sheets: inventedSheets().filter(({ id }) => id === "demo-clear"),
  coats: [],
  pots: [],
};
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
const wet: CoatNow = { ...coat, isWet: true, wetUntilMs: startMs + 600 * minuteMs };
const stage = (name: "sand" | "polish", atMs: number): StageOutcome => ({
  stage: name,
  curePercent: 40,
  reached: false,
  isCovered: true,
  likelyAtMs: atMs,
  likelyMinutes: 60,
  safeAtMs: atMs,
  safeMinutes: 60,
});
const machine = { collector: "pi", clock: "synchronised", undatedPacks: 0, outboxFault: null } as const;
const windowBy = (closesAtMs: number) => ({
  ...coat,
  windows: [
    {
      for: "cover",
      opensAtMs: startMs - 60 * minuteMs,
      closesAtMs,
      closingFromMs: closesAtMs - 5 * minuteMs,
      state: "open" as const,
      ifMissed: "sand",
    },
  ],
});
const potBy = (useByAtMs: number) => ({
  id: "m1",
  place: "booth",
  kind: "clearcoat",
  mixedAtMs: startMs - 60 * minuteMs,
  closingFromMs: useByAtMs - 10 * minuteMs,
  useByAtMs,
});
const sensor = { quantity: "air-temperature", sensor: "pi/air" } as const;
const withEquipment = (change: Partial<Equipment>) => ({ equipment: { ...well, ...change } });

/**
 * Each rule's quantity, `swing` from -1 to 1 about its limit, beyond it above 0. What is true or not swings between the two;
 * a time swings by its deadband, as far as the air moves it.
 */
function situations(): Record<Rule, (swing: number, nowMs: number) => Partial<Situation>> {
  const slips = new Slips();
  const timed = (rule: "window-closing" | "window-missed" | "pot-life" | "not-today" | "promise", swing: number) =>
    (swing * steadiness[rule].bandMs) / 2;
  const either = (change: Partial<Equipment>) => (swing: number) => (swing > 0 ? withEquipment(change) : {});
  return {
    cold: (swing) => ({ airC: 15 - 3 * swing }),
    heat: (swing) => ({ airC: 32 + 3 * swing }),
    humidity: (swing) => ({ rhPercent: 75 + 9 * swing }),
    "dew-point-margin": (swing) => ({ panelC: 13 - 2 * swing }),
    "dew-point-ahead": (swing) => ({ hours: [{ atMs: startMs, airC: 13 - 3 * swing }], coats: [wet] }),
    condensation: (swing) => ({ panelC: 10 - 2 * swing, coats: [wet] }),
    "window-closing": (swing, nowMs) => ({
      coats: [windowBy(nowMs + 5 * minuteMs - timed("window-closing", swing))],
    }),
    "window-missed": (swing, nowMs) => ({ coats: [windowBy(nowMs - timed("window-missed", swing))] }),
    "pot-life": (swing, nowMs) => ({ pots: [potBy(nowMs - timed("pot-life", swing))] }),
    "not-today": (swing) => {
      const workEndsAtMs = startMs + 480 * minuteMs;
      const late = stage("sand", workEndsAtMs + timed("not-today", swing));
      const state = swing > 0 ? ("not today" as const) : ("check first" as const);
      return { coats: [{ ...coat, late: { stage: late, state, workEndsAtMs } }] };
    },
    promise: (swing) => {
      const promisedAtMs = startMs + 480 * minuteMs;
      const stages = [stage("polish", promisedAtMs + timed("promise", swing))];
      return { coats: [{ ...coat, promisedAtMs, stages }] };
    },
    slipped: (swing, nowMs) => {
      const likelyAtMs = startMs + (nowMs - startMs < 3 * minuteMs ? 200 : 230 + 10 * swing) * minuteMs;
      return { coats: [{ ...coat, slip: slips.of("c1", startMs, [stage("sand", likelyAtMs)], nowMs) }] };
    },
    "moved-wet": (swing) => ({ coats: [{ ...coat, movedWetAtMs: swing > 0 ? startMs : null }] }),
    "silent-sensor": either({ silent: [{ ...sensor, lastAtMs: startMs }] }),
    "bad-sensor": either({ bad: [{ ...sensor, value: 85, why: "spike" }] }),
    "sensors-disagree": either({
      differing: [{ quantity: "air-humidity", sensors: ["pi/a", "pi/b"], byMedian: 9, overHours: 24 }],
    }),
    "calibration-due": either({ calibrations: [{ ...sensor, due: "2026-03-10", isOver: false }] }),
    clock: either({ machines: [{ ...machine, clock: "jumped" }] }),
    outbox: either({ machines: [{ ...machine, outboxFault: "full" }] }),
    store: either({ storeFault: "full" }),
    "store-away": either({ storeAway: true }),
    records: either({ recordsFault: "changed" }),
  };
}

/** How often a rule is raised in two hours, looked at every two seconds. */
function raisings(rule: Rule, swingAt: (second: number) => number): number {
  const tracked = new Map<string, Tracked>();
  const situationOf = situations()[rule];
  const known = { isSaid: () => false, isAnswered: () => false, isThere: () => true };
  let count = 0;
  for (let nowMs = startMs; nowMs < startMs + 120 * minuteMs; nowMs += everyMs) {
    const situation = { ...calm, nowMs, ...situationOf(swingAt((nowMs - startMs) / 1000), nowMs) };
    const standing = gather(new Map([["booth", situation]]), (key) => tracked.get(key)?.activeSinceMs != null);
    count += stepWarnings(tracked, standing, nowMs, known).begun.filter((each) => each.rule === rule).length;
  }
  return count;
}

const waves = fc.record({
  periodSeconds: fc.integer({ min: 4, max: 1800 }),
  /** Of the period beyond the limit. */
  share: fc.double({ min: 0.05, max: 0.95, noNaN: true }),
  size: fc.double({ min: 0.01, max: 1, noNaN: true }),
  isSquare: fc.boolean(),
});
type Wave = typeof waves extends fc.Arbitrary<infer Value> ? Value : never;

function swingOf({ periodSeconds, share, size, isSquare }: Wave) {
  return (second: number) => {
    const phase = (second % periodSeconds) / periodSeconds;
    return size * (isSquare ? (phase < share ? 1 : -1) : Math.sin(2 * Math.PI * phase));
  };
}

describe("a quantity that swings around its limit", () => {
  it.each(rules)("finds a delay for %s that allows a raising a minute at the very most", (rule) => {
    expect(steadiness[rule].onMs + steadiness[rule].offMs).toBeGreaterThanOrEqual(minuteMs);
  });

  it.each(rules)("raises %s no oftener than its delays allow", (rule) => {
    const { onMs, offMs } = steadiness[rule];
    const atMost = 1 + Math.floor((120 * minuteMs) / (onMs + offMs));
    fc.assert(
      fc.property(waves, (wave) => {
        expect(raisings(rule, swingOf(wave))).toBeLessThanOrEqual(atMost);
      }),
      { numRuns: 10 },
    );
  });

  it.each(rules.filter((rule) => "bandMs" in steadiness[rule] || "bandK" in steadiness[rule]))(
    "raises %s once when it swings by less than the deadband",
    (rule) => {
      fc.assert(
        fc.property(waves, (wave) => {
          expect(raisings(rule, swingOf({ ...wave, size: wave.size / 9 }))).toBeLessThanOrEqual(1);
        }),
        { numRuns: 10 },
      );
    },
  );

  it.each(rules)("is no reason to keep quiet of %s when it stays beyond", (rule) => {
    expect(raisings(rule, (second) => (second < 300 ? -1 : 1))).toBeGreaterThanOrEqual(1);
  });
});
