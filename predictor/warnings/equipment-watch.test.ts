import { beforeEach, describe, expect, it } from "vitest";
import type { CollectorState, Mark, Quantity } from "../../collector/readings.ts";
import { instrumentSchema } from "../../collector/settings.ts";
import type { Compared } from "../follow/comparisons.ts";
import { PlaceNow } from "../follow/place-now.ts";
import { shopTimeOf } from "../shop-time.ts";
import { EquipmentWatch } from "./equipment-watch.ts";

const t0 = Date.parse("2026-03-02T08:00:00Z");
let nowMs: number;
let place: PlaceNow;
let second: PlaceNow;
let compared: Compared[];
let collectors: Map<string, CollectorState>;
let watch: EquipmentWatch;

beforeEach(() => {
  nowMs = t0;
  place = new PlaceNow();
  second = new PlaceNow();
  compared = [];
  collectors = new Map();
  watch = new EquipmentWatch({
    shopFile: {
      places: {
        booth: {
          name: "Booth",
          kind: "booth",
          sensors: { "air-temperature": "pi/air", "air-humidity": "pi/air" },
          compare: { "air-humidity": "pi/second" },
        },
      },
      collectors: {
        pi: {
          elsewhere: false,
          sources: [],
          sensors: ["air"],
          instruments: { air: { "air-humidity": instrumentSchema.parse({ due: "2026-03-20" }) } },
        },
      },
    },
    follow: {
      current: (_, quantity) => place.get(quantity),
      newest: (_, quantity) => place.newest(quantity),
    },
    comparisons: {
      at: () => compared,
      current: (_, quantity) => second.get(quantity),
      newest: (_, quantity) => second.newest(quantity),
    },
    collectors: () => collectors,
    clockState: () => "synchronised",
    storeFault: () => null,
    storeAway: () => false,
    recordsFault: () => null,
    shopTime: shopTimeOf({ timeZone: "Europe/Berlin" }),
    now: () => nowMs,
  });
});

/** Readings every ten seconds up to now. */
function hear(quantity: Quantity, seconds: number, mark?: Mark): void {
  for (let second = 0; second < seconds; second += 10) {
    nowMs += 10_000;
    place.take({ quantity, atMs: nowMs, value: 21, ...(mark && { mark }) }, "pi/air");
  }
}

describe("what is known of the equipment", () => {
  it("misses a sensor that was never heard after two minutes", () => {
    nowMs = t0 + 120_000;
    expect(watch.at("booth").silent).toEqual([]);
    nowMs += 1;
    expect(watch.at("booth").silent.map(({ quantity }) => quantity)).toEqual(["air-temperature", "air-humidity"]);
  });

  it("gives a sensor its two cadences from the start, whose newest reading is one of before or of an old backlog", () => {
    nowMs = t0 - 7_200_000;
    hear("air-temperature", 60);
    nowMs = t0 + 20_000;
    expect(watch.at("booth").silent).toEqual([]);
    nowMs = t0 + 20_600;
    expect(watch.at("booth").silent).toMatchObject([
      { quantity: "air-temperature", lastAtMs: t0 - 7_200_000 + 60_000 },
    ]);
  });

  it("calls a sensor bad at its first bad reading, and not silent while it says bad things", () => {
    hear("air-temperature", 60);
    hear("air-temperature", 60, { quality: "bad", why: "stuck" });
    const { bad, silent } = watch.at("booth");
    expect(bad).toEqual([{ quantity: "air-temperature", sensor: "pi/air", value: 21, why: "stuck" }]);
    expect(silent).toEqual([]);
  });

  it("calls a sensor silent within two of its cadences, bad before or not", () => {
    hear("air-temperature", 60);
    hear("air-temperature", 10, { quality: "bad", why: "spike" });
    nowMs += 20_600;
    const { bad, silent } = watch.at("booth");
    expect(bad).toEqual([]);
    expect(silent[0]?.quantity).toBe("air-temperature");
  });

  it("passes a doubtful reading over", () => {
    hear("air-temperature", 60, { quality: "doubtful", why: "fast change" });
    expect(watch.at("booth").bad).toEqual([]);
  });

  it("tells of a calibration a fortnight before it is due by the shop's calendar, and after", () => {
    nowMs = Date.parse("2026-03-05T22:59:59Z");
    expect(watch.at("booth").calibrations).toEqual([]);
    nowMs = Date.parse("2026-03-05T23:00:00Z");
    expect(watch.at("booth").calibrations).toMatchObject([{ sensor: "pi/air", due: "2026-03-20", isOver: false }]);
    nowMs = Date.parse("2026-03-20T22:59:59Z");
    expect(watch.at("booth").calibrations[0]?.isOver).toBe(false);
    nowMs = Date.parse("2026-03-20T23:00:00Z");
    expect(watch.at("booth").calibrations[0]?.isOver).toBe(true);
  });

  it("tells of sensors that differ, and not of those that agree", () => {
    const pair = { quantity: "air-humidity", sensors: ["pi/air", "pi/second"], byMedian: 9, overHours: 24 } as const;
    compared = [
      { ...pair, differs: "no" },
      { ...pair, differs: "drift" },
    ];
    expect(watch.at("booth").differing).toEqual([pair]);
  });

  it("knows what is wrong with a sensor that others are compared with, and warns of the first alone", () => {
    hear("air-humidity", 60);
    const bad = { quality: "bad", why: "stuck" } as const;
    second.take({ quantity: "air-humidity", atMs: nowMs, value: 40, mark: bad }, "pi/second");
    const stuck = { quantity: "air-humidity", sensor: "pi/second", value: 40, why: "stuck" };
    expect(watch.comparedAt("booth")).toEqual({ silent: [], bad: [stuck], calibrations: [] });
    nowMs += 120_001;
    const silent = { quantity: "air-humidity", sensor: "pi/second", lastAtMs: null };
    expect(watch.comparedAt("booth")).toMatchObject({ silent: [silent], bad: [] });
    expect(watch.at("booth").bad).toEqual([]);
    expect(watch.at("booth").silent.some(({ sensor }) => sensor === "pi/second")).toBe(false);
  });

  it("tells of this machine, and of the collectors that are online and have sensors here", () => {
    const state: CollectorState = {
      online: true,
      since: "2026-03-02T08:00:00Z",
      version: "0",
      sensors: [],
      outboxPacks: 3,
      undatedPacks: 3,
      clock: "unsynchronised",
      sources: [],
    };
    collectors.set("pi", state);
    collectors.set("yard-pi", state);
    expect(watch.at("booth").machines).toEqual([
      { collector: null, clock: "synchronised", undatedPacks: 0, outboxFault: null },
      { collector: "pi", clock: "unsynchronised", undatedPacks: 3, outboxFault: null },
    ]);
    collectors.set("pi", { ...state, online: false });
    expect(watch.at("booth").machines).toHaveLength(1);
  });
});
