import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { inventedSheets } from "../records/library.ts";
import { startRetaining } from "./retain.ts";
import type { Warning } from "./warnings.ts";

const nowMs = Date.parse("2026-03-02T08:00:00Z");
const place = (name: string) => ({ name, kind: "booth" as const, sensors: { "air-temperature": "pi/air" } });
const humid: Warning = {
  id: "booth/humidity",
  rule: "humidity",
  place: "booth",
  alsoAt: [],
  urgency: "soon",
  text: text("warn.humidity", { humidity: 81, sheet: "Clear", bound: 75 }),
  consequence: text("warn.humidity.else"),
  action: text("warn.humidity.do"),
  untilMs: null,
  sinceMs: nowMs,
  coatId: null,
  carId: null,
  state: "open",
  answer: null,
  setAside: null,
};
const closing = (coatId: string, urgency: Warning["urgency"]): Warning => ({
  ...humid,
  rule: "window-closing",
  urgency,
  coatId,
});

let retained: Map<string, object | null>;
let warnings: Warning[];
let coats: CoatState[];
let changed: (place: string) => void;
let stop: () => void;

beforeEach(() => {
  vi.useFakeTimers();
  retained = new Map();
  warnings = [];
  coats = [];
  stop = startRetaining({
    shopFile: { places: { booth: place("Booth"), prep: place("Prep") } },
    follow: { coatsAt: (at) => coats.filter((coat) => coat.place === at) },
    warnings: {
      at: (at) => warnings.filter((warning) => warning.place === at || warning.alsoAt.includes(at)),
      onChange: (listener) => {
        changed = listener;
        return () => true;
      },
    },
    topics: topicsOf("shop"),
    words: wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } }),
    link: { retain: (topic, message) => retained.set(topic, message) },
  });
});
afterEach(() => {
  stop();
  vi.useRealTimers();
});

function aCoat(): CoatState {
  const [sheet] = inventedSheets();
  if (sheet === undefined) throw new Error("no sheets");
  const stage = { curePercent: 25, likelyMinutes: 3, safeMinutes: 4, isCovered: true };
  return {
    coat: {
      id: "c1",
      carId: "car1",
      panels: ["door"],
      substrate: "steel",
      sheetId: sheet.id,
      sheetRevision: 1,
      finishedAtMs: nowMs,
      filmUm: null,
      panelAtFinishC: null,
      batches: [],
      sprayCheck: null,
      who: "painter",
      enteredAtMs: nowMs,
      withdrawn: null,
      verdict: null,
    },
    car: { id: "car1", job: "J 7/b", name: "Grey van", colour: null, promisedAtMs: null, panels: [], moves: [] },
    sheet,
    place: "booth",
    covered: false,
    isPending: false,
    stays: [],
    lastReadingAtMs: nowMs,
    lesson: { lesson: { lnFactor: 0, lnSafeFactor: 0, sigma: 0.15, checks: 0 }, findings: [], isOff: false },
    course: () => [],
    outcomeUnder: () => {
      throw new Error("not asked here");
    },
    outcome: {
      asOfMs: nowMs + 300_000,
      curePercent: 31.6,
      equivalentMinutes: 5,
      panelC: 20,
      panelEstimated: false,
      notes: [],
      windowClosesAtMs: [],
      stages: [
        { ...stage, stage: "overcoat", reached: true, likelyAtMs: nowMs + 180_000, safeAtMs: nowMs + 240_000 },
        { ...stage, stage: "full-cure", reached: false, likelyAtMs: nowMs + 9e6, safeAtMs: null },
      ],
    },
  };
}

it("retains a warning while it lasts and removes it when it has ended", () => {
  warnings = [humid];
  changed("booth");
  const topic = "coatclock/1/shop/warnings/booth/humidity";
  expect(retained.get(topic)).toMatchObject({
    rule: "humidity",
    text: "81 % humidity, Clear allows 75 % at most",
    since: "2026-03-02T08:00:00.000Z",
  });
  warnings = [];
  changed("booth");
  expect(retained.get(topic)).toBeNull();
});

it("removes one that was answered or set aside: it wants no lamp", () => {
  const topic = "coatclock/1/shop/warnings/booth/humidity";
  for (const state of ["answered", "set aside"] as const) {
    warnings = [humid];
    changed("booth");
    expect(retained.get(topic)).not.toBeNull();
    warnings = [{ ...humid, state }];
    changed("booth");
    expect(retained.get(topic)).toBeNull();
  }
});

it("retains one of several places in the topic of each, with that place as its own", () => {
  warnings = [{ ...humid, alsoAt: ["prep"] }];
  for (const at of ["booth", "prep"]) changed(at);
  expect(retained.get("coatclock/1/shop/warnings/booth/humidity")).toMatchObject({ place: "booth", alsoAt: ["prep"] });
  expect(retained.get("coatclock/1/shop/warnings/prep/humidity")).toMatchObject({ place: "prep", alsoAt: ["booth"] });
  warnings = [];
  for (const at of ["booth", "prep"]) changed(at);
  expect([...retained.values()]).toEqual([null, null]);
});

it("retains the most urgent of several warnings of one rule", () => {
  warnings = [closing("first", "now"), closing("second", "soon")];
  changed("booth");
  expect(retained.get("coatclock/1/shop/warnings/booth/window-closing")).toMatchObject({ coatId: "first" });
});

it("retains the readiness of each coat, under a job number made safe for a topic, until the coat is gone", () => {
  coats = [aCoat()];
  vi.advanceTimersByTime(10_000);
  const topic = "coatclock/1/shop/readiness/J-7-b/c1";
  expect(retained.get(topic)).toEqual({
    car: "Grey van",
    place: "booth",
    panels: ["door"],
    curePercent: 32,
    readyFor: "overcoat",
    next: { stage: "full-cure", likelyAt: new Date(nowMs + 9e6).toISOString(), safeAt: null },
  });
  coats = [];
  vi.advanceTimersByTime(10_000);
  expect(retained.get(topic)).toBeNull();
});

it("leaves what was said of a coat as it stands while its history is read anew", () => {
  coats = [aCoat()];
  vi.advanceTimersByTime(10_000);
  const topic = "coatclock/1/shop/readiness/J-7-b/c1";
  const said = retained.get(topic);
  const before = aCoat();
  coats = [{ ...before, isPending: true, outcome: { ...before.outcome, curePercent: null, stages: [] } }];
  vi.advanceTimersByTime(10_000);
  expect(retained.get(topic)).toEqual(said);
});
