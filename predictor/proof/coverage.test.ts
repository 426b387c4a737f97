import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { Mark, Quantity } from "../../collector/readings.ts";
import type { Places } from "../follow/place-history.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../readings/store.ts";
import { shopTimeOf } from "../shop-time.ts";
import { Coverage } from "./coverage.ts";

const minute = 60_000;
const berlin = shopTimeOf({ timeZone: "Europe/Berlin" });
const at = (iso: string) => Date.parse(iso);
const places: Places = {
  booth: {
    name: "Booth",
    kind: "booth",
    sensors: { "air-temperature": "pi/air", "air-humidity": "pi/air", "air-speed": "pi/air" },
  },
  yard: { name: "Yard", kind: "yard", sensors: { "air-temperature": "pi/mast" } },
};
const reading = (iso: string, sensor = "air", quantity: Quantity = "air-temperature", mark?: Mark): StoredReading => {
  return { collector: "pi", sensor, quantity, atMs: at(iso), value: 20, ...(mark && { mark }) };
};

let store: ReadingStore;
let asked: number;
let isAway: boolean;
let nowMs: number;
let coverage: Coverage;
beforeEach(() => {
  store = openSqliteStore(":memory:");
  asked = 0;
  isAway = false;
  nowMs = at("2026-03-03T11:02:00Z");
  const countBuckets: ReadingStore["countBuckets"] = (...span) => {
    asked += 1;
    const isOver = span[1].toMs <= at("2026-03-02T23:00:00Z");
    return isAway && isOver ? Promise.reject(new Error("away")) : store.countBuckets(...span);
  };
  coverage = new Coverage({ store: { countBuckets }, places, shopTime: berlin, now: () => nowMs });
});
afterEach(() => store.close());

const booth = async (days: number) => (await coverage.count(days, 10_000)).lines[0]?.minutes;

describe("the minutes of a day with readings", () => {
  it("are those of five-minute steps that have one of use, for what a coat is judged by", async () => {
    await store.append([
      // The last of the day before, and the first two of one step and one of the next.
      reading("2026-03-01T22:59:59Z"),
      reading("2026-03-01T23:00:00Z"),
      reading("2026-03-01T23:04:59Z"),
      reading("2026-03-01T23:05:00Z"),
      // Marked bad, and not to be believed.
      reading("2026-03-02T10:00:00Z", "air", "air-temperature", { quality: "bad", why: "stuck" }),
      { ...reading("2026-03-02T11:00:00Z"), value: 300 },
      // Doubtful ones are used.
      reading("2026-03-02T22:59:59Z", "air", "air-temperature", { quality: "doubtful", why: "fast change" }),
    ]);
    const { days, lines } = await coverage.count(3, 10_000);
    expect(days.map(({ date, minutes }) => [date, minutes])).toEqual([
      ["2026-03-01", 1440],
      ["2026-03-02", 1440],
      // Noon and two minutes: the step that runs is left out.
      ["2026-03-03", 720],
    ]);
    expect(lines.map(({ place, quantity, minutes }) => [place, quantity, minutes])).toEqual([
      ["booth", "air-temperature", [5, 15, 0]],
      ["booth", "air-humidity", [0, 0, 0]],
      ["yard", "air-temperature", [0, 0, 0]],
    ]);
  });

  it("never come to more than the day has, on the days when clocks change too", async () => {
    nowMs = at("2026-03-30T12:00:00Z");
    const steps = Array.from({ length: 72 * 12 }, (_, n) => at("2026-03-27T23:00:00Z") + n * 5 * minute);
    await store.append(steps.map((atMs) => ({ ...reading("2026-03-27T23:00:00Z"), atMs })));
    const { days, lines } = await coverage.count(3, 10_000);
    expect(days.map(({ minutes }) => minutes)).toEqual([1440, 1380, 840]);
    expect(lines[0]?.minutes).toEqual([1440, 1380, 840]);
  });
});

describe("days that are over", () => {
  it("are counted once, and today each time", async () => {
    await booth(3);
    expect(asked).toBe(9);
    await store.append([reading("2026-03-03T11:00:00Z")]);
    nowMs += 5 * minute;
    expect(await booth(3)).toEqual([0, 0, 5]);
    expect(asked).toBe(12);
  });

  it("are counted anew when late readings of them come, that sensor's alone", async () => {
    await booth(3);
    const late = [reading("2026-03-02T08:00:00Z")];
    coverage.committed(await store.append(late));
    expect(await booth(3)).toEqual([0, 5, 0]);
    expect(asked).toBe(9 + 3 + 1);
    coverage.committed(await store.append([reading("2026-03-03T08:00:00Z")]));
    await booth(3);
    expect(asked).toBe(13 + 3);
  });

  it("of which one can't be read now are asked for again", async () => {
    await store.append([reading("2026-03-02T08:00:00Z")]);
    isAway = true;
    await expect(booth(2)).rejects.toThrow("away");
    isAway = false;
    expect(await booth(2)).toEqual([5, 0]);
  });
});

it("leaves what can't be counted in time for the next question, the newest day first", async () => {
  const { days, lines } = await coverage.count(3, -1);
  expect(days).toHaveLength(3);
  expect(lines.flatMap(({ minutes }) => minutes)).toEqual(new Array(9).fill(null));
  const slow = new Coverage({
    store: {
      countBuckets: async () => {
        await new Promise((waited) => setTimeout(waited, 30));
        return 0;
      },
    },
    ...{ places, shopTime: berlin, now: () => nowMs },
  });
  const firstTime = (await slow.count(90, 100)).lines;
  expect(firstTime[0]?.minutes.at(-1)).toBe(0);
  expect(firstTime[0]?.minutes[0]).toBeNull();
});

it("lets others have their turn while it counts", async () => {
  let turns = 0;
  const ticking = setInterval(() => {
    turns += 1;
  }, 0);
  const busy = new Coverage({
    store: {
      countBuckets: async () => {
        const untilMs = performance.now() + 3;
        while (performance.now() < untilMs);
        return 0;
      },
    },
    ...{ places, shopTime: berlin, now: () => nowMs },
  });
  await busy.count(10, 10_000);
  clearInterval(ticking);
  expect(turns).toBeGreaterThan(10);
});
