import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { Quantity } from "../../collector/readings.ts";
import { wordsOf } from "../../words/words.ts";
import { vapourPressureHpa } from "../air/humidity.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore } from "../readings/store.ts";
import { inventedSheets } from "../records/library.ts";
import { SprayChecks } from "./spray-checks.ts";

const minute = 60_000;
/** A Monday. */
const nowMs = Date.UTC(2026, 2, 2, 14, 10);
const english = wordsOf({ language: "en", timeZone: "UTC", units: { temperature: "C", clock: "24h" } });
const sensors = {
  "air-temperature": "pi/air",
  "air-humidity": "pi/air",
  "panel-temperature": "pi/panel",
  "air-speed": "pi/wind",
};
const booth = { name: "Booth", kind: "booth" as const, sensors };
const workday = { days: ["mon" as const], from: "07:30", to: "17:00" };

let store: ReadingStore;
beforeEach(() => {
  store = openSqliteStore(":memory:");
});
afterEach(() => store.close());

const current = { "air-temperature": 21, "air-humidity": 50, "panel-temperature": 20 };
interface Shop {
  /** Values that are `ageMs` old. */
  values?: Partial<Record<Quantity, number>>;
  ageMs?: number;
  /** Air temperature of the half hours ahead. */
  aheadC?: number[];
  hours?: typeof workday | undefined;
}

function checks({ values = current, ageMs = 5_000, aheadC = [], hours }: Shop = {}): SprayChecks {
  const halfHours = aheadC.map((airC, index) => ({
    atMs: Date.UTC(2026, 2, 2, 14, 30 * (index + 1)),
    airC,
    coldC: airC,
    warmC: airC,
  }));
  return new SprayChecks({
    shopFile: { places: { booth }, timeZone: "UTC", workday: hours },
    store,
    follow: {
      current: (_, quantity) => {
        const value = values[quantity];
        return value === undefined ? undefined : { value, atMs: nowMs - ageMs, sensor: "pi/any", cadenceMs: 10_000 };
      },
      outlook: () => ({
        nowMs,
        airC: 21,
        rhPercent: 50,
        panelC: null,
        hours: halfHours,
        coolingFrom: () => [],
        airHandling: null,
      }),
    },
    records: { sheets: inventedSheets },
    now: () => nowMs,
  });
}

const reading = (quantity: Quantity, value: number, minutesAgo: number, isBad = false) => ({
  collector: "pi",
  sensor: quantity === "panel-temperature" ? "panel" : quantity === "air-speed" ? "wind" : "air",
  quantity,
  value,
  atMs: nowMs - minutesAgo * minute,
  ...(isBad ? { mark: { quality: "bad" as const, why: "spike" as const } } : {}),
});

describe("the spray check of an instant", () => {
  it("is by the newest reading at or before it, and says which sensor told what, and when", async () => {
    await store.append([
      reading("air-temperature", 12, 62),
      reading("air-temperature", 20, 60),
      reading("air-humidity", 74, 61),
      reading("panel-temperature", 19, 60),
      reading("air-temperature", 30, 59),
    ]);
    const atMs = nowMs - 60 * minute;
    const check = await checks().at("booth", "demo-clear", atMs);
    expect(check).toMatchObject({ atMs, place: "booth", sheetId: "demo-clear", state: "spray with care" });
    expect(check?.limits).toMatchObject([
      { what: "air temperature", value: 20, sensor: "pi/air", readingAtMs: atMs, state: "inside" },
      { what: "panel temperature", value: 19, sensor: "pi/panel", readingAtMs: atMs, state: "inside" },
      { what: "humidity", value: 74, max: 75, margin: 1, readingAtMs: atMs - minute, state: "close", source: "sheet" },
      { what: "dew-point margin", sensor: "pi/panel", state: "close", source: "common practice" },
    ]);
  });

  it("passes over readings that are marked bad or can be no measurement", async () => {
    await store.append([
      reading("air-temperature", 20, 3),
      reading("air-temperature", 35, 2, true),
      reading("air-humidity", 50, 3),
      reading("air-humidity", 250, 2),
    ]);
    const check = await checks().at("booth", "demo-clear", nowMs);
    expect(check?.limits.map(({ value }) => value)).toEqual([20, null, 50, expect.closeTo(10.7, 1)]);
  });

  it("goes by no reading older than ten minutes: a limit is then not measured, and without any there is no check", async () => {
    await store.append([reading("air-temperature", 20, 9), reading("air-humidity", 50, 11)]);
    const check = await checks().at("booth", "demo-clear", nowMs);
    expect(check).toMatchObject({ state: "no verdict" });
    expect(check?.limits[2]).toMatchObject({ state: "not measured", sensor: null, readingAtMs: null });
    expect(await checks().at("booth", "demo-clear", nowMs + 2 * minute)).toBeNull();
  });

  it("is none where readings were rolled up: a mean is no reading that limits can be judged by on record", async () => {
    await store.append([reading("air-temperature", 20, 12), reading("air-humidity", 50, 12)]);
    for (let taken = 1; taken > 0; ) taken = await store.rollUp(nowMs);
    expect(await checks().at("booth", "demo-clear", nowMs - 8 * minute)).toBeNull();
  });

  it("is none where only a quantity without a limit was measured, or for a place or sheet nobody knows", async () => {
    await store.append([reading("air-speed", 0.3, 1)]);
    expect(await checks().at("booth", "demo-clear", nowMs)).toBeNull();
    await store.append([reading("air-temperature", 20, 1)]);
    expect(await checks().at("booth", "demo-clear", nowMs)).not.toBeNull();
    expect(await checks().at("cellar", "demo-clear", nowMs)).toBeNull();
    expect(await checks().at("booth", "demo-nothing", nowMs)).toBeNull();
  });
});

describe("the spray check now and in the hours ahead", () => {
  it("is by what is current, in the words of the wall", () => {
    const outlook = checks({ values: { ...current, "air-humidity": 80 } }).outlook("booth", "demo-clear");
    expect(outlook?.now).toMatchObject({ atMs: nowMs, state: "do not spray" });
    expect(english.say(outlook?.reason as never)).toBe("Not now: humidity 80 %, at most 75 %.");
  });

  it("gives no verdict and nothing ahead by a value that is not current any more", () => {
    const outlook = checks({ ageMs: 30_000, aheadC: [21] }).outlook("booth", "demo-clear");
    expect(outlook).toMatchObject({ now: { state: "no verdict" }, ahead: [] });
    expect(english.say(outlook?.reason as never)).toMatch(/No current air temperature/);
  });

  it("keeps the water in the air as the air cools, so that its humidity climbs to the limit and beyond", () => {
    const ahead = checks({ aheadC: [21, 18, 15.5, 8] }).outlook("booth", "demo-clear")?.ahead ?? [];
    // 50 % at 21 °C is this much at 15.5 °C, by the water alone.
    const rhPercent = (100 * vapourPressureHpa(21, 50)) / vapourPressureHpa(15.5, 100);
    expect(rhPercent).toBeCloseTo(70.6, 1);
    expect(ahead.map(({ atMs, state, worst }) => [atMs - nowMs, state, worst && english.say(worst)])).toEqual([
      [20 * minute, "spray", null],
      [50 * minute, "spray", null],
      [80 * minute, "spray with care", "air temperature 15.5 °C, at least 15 °C"],
      [110 * minute, "do not spray", "air temperature 8 °C, at least 15 °C"],
    ]);
    const humid = checks({ values: { ...current, "air-humidity": 70 }, aheadC: [21, 19] }).outlook(
      "booth",
      "demo-clear",
    );
    expect(humid?.ahead.map(({ worst }) => worst && english.say(worst))).toEqual([null, "humidity 79 %, at most 75 %"]);
  });

  it("is told until work ends, the next half hour at least, and for twelve hours where no work ends", () => {
    const aheadC = Array(40).fill(21) as number[];
    const count = (hours?: typeof workday) => checks({ aheadC, hours }).outlook("booth", "demo-clear")?.ahead.length;
    expect(count(workday)).toBe(6);
    expect(count({ ...workday, to: "14:20" })).toBe(1);
    expect(count()).toBe(24);
    expect(count({ ...workday, to: "14:00" })).toBe(24);
  });

  it("is none for a place or sheet nobody knows", () => {
    expect(checks().outlook("cellar", "demo-clear")).toBeNull();
    expect(checks().outlook("booth", "demo-nothing")).toBeNull();
  });
});
