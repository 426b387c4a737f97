import { describe, expect, it } from "vitest";
import type { Climate, Current, PlaceView } from "../../predictor/serve/api.ts";
import { figureOf, marginOf, withReading } from "./freshness.ts";

const now = Date.UTC(2026, 2, 2, 8);
const current = (value: number, ageSeconds: number, currentForSeconds = 20): Current => ({
  value,
  at: new Date(now - ageSeconds * 1000).toISOString(),
  sensor: "s1",
  currentForSeconds,
});
const climate = (part: Partial<Climate> = {}): Climate => ({
  airC: current(20, 1),
  rhPercent: current(50, 1),
  panelC: current(19, 1),
  airSpeedMps: null,
  dewPointC: 9.3,
  dewMarginC: 9.7,
  ...part,
});

describe("figureOf", () => {
  it("is current for as long as the predictor says and old after it", () => {
    expect(figureOf(current(20, 20), now)).toEqual({ kind: "current", value: 20 });
    expect(figureOf(current(20, 21), now)).toEqual({ kind: "old", ageMs: 21_000 });
  });
  it("never takes a value whose instant cannot be read for current", () => {
    expect(figureOf({ ...current(20, 0), at: "?" }, now).kind).toBe("old");
  });
  it("says when there is no sensor", () => {
    expect(figureOf(null, now)).toEqual({ kind: "none" });
  });
});

describe("marginOf", () => {
  it("is as old as the oldest figure it comes from", () => {
    expect(marginOf(climate(), now)).toEqual({ kind: "current", value: 9.7 });
    expect(marginOf(climate({ airC: current(20, 30), rhPercent: current(50, 90) }), now)).toEqual({
      kind: "old",
      ageMs: 90_000,
    });
    expect(marginOf(climate({ panelC: current(19, 60) }), now).kind).toBe("old");
  });
  it("stands without a panel sensor but not without humidity", () => {
    expect(marginOf(climate({ panelC: null }), now).kind).toBe("current");
    expect(marginOf(climate({ rhPercent: null }), now).kind).toBe("none");
  });
});

describe("withReading", () => {
  const view = { place: { id: "booth", name: "Booth", kind: "booth" }, climate: climate() } as PlaceView;
  const reading = {
    place: "booth",
    quantity: "air-temperature",
    sensor: "s1",
    at: new Date(now).toISOString(),
    value: 21,
  };
  it("shows a newer reading of the sensor that is shown", () => {
    expect(withReading(view, reading).climate.airC).toEqual({ ...current(21, 0) });
  });
  it("leaves the view alone for another place, sensor or quantity, or an older reading", () => {
    const others = [
      { ...reading, place: "yard" },
      { ...reading, sensor: "s2" },
      { ...reading, quantity: "air-pressure" },
      { ...reading, at: new Date(now - 60_000).toISOString() },
      { ...reading, at: "never" },
    ];
    for (const other of others) expect(withReading(view, other)).toBe(view);
  });
});
