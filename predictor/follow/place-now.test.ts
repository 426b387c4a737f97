import { describe, expect, it } from "vitest";
import { currentAir } from "./current-air.ts";
import { isCurrent, PlaceNow } from "./place-now.ts";

const t0 = Date.parse("2026-03-02T08:00:00Z");

function placeHeardAt(...seconds: number[]): PlaceNow {
  const place = new PlaceNow();
  for (const second of seconds) {
    place.take({ quantity: "air-temperature", atMs: t0 + second * 1000, value: 20 + second / 10 }, "pi/air");
  }
  return place;
}
const ageLimit = (place: PlaceNow, atSecond: number) => {
  const current = place.get("air-temperature");
  return current !== undefined && isCurrent(current, t0 + atSecond * 1000);
};

describe("a place's present", () => {
  it("holds the newest value, whatever order values come in", () => {
    expect(placeHeardAt(0, 10, 5).get("air-temperature")).toMatchObject({ value: 21, sensor: "pi/air" });
  });

  it("gives no value for a reading that is of no use, and shows it as the newest all the same", () => {
    const place = placeHeardAt(0, 10);
    const bad = { value: 85, atMs: t0 + 20_000, mark: { quality: "bad", why: "spike" } } as const;
    place.take({ quantity: "air-temperature", ...bad }, "pi/air");
    expect(place.get("air-temperature")?.value).toBe(21);
    expect(place.newest("air-temperature")).toEqual({ ...bad, sensor: "pi/air" });
    place.take({ quantity: "air-temperature", value: 31, atMs: t0 + 30_000 }, "pi/air");
    expect(place.newest("air-temperature")?.mark).toBeUndefined();
  });

  it("takes the median of the last intervals for the cadence, so that one pause does not change it", () => {
    expect(placeHeardAt(0, 10, 20, 620, 630, 640).get("air-temperature")?.cadenceMs).toBe(10_000);
  });

  it("is current up to twice its cadence, with half a second for the way", () => {
    const place = placeHeardAt(0, 10, 20, 30);
    expect(ageLimit(place, 50.5)).toBe(true);
    expect(ageLimit(place, 50.6)).toBe(false);
  });

  it("is current for two minutes while no cadence is known", () => {
    expect(ageLimit(placeHeardAt(0), 120)).toBe(true);
    expect(ageLimit(placeHeardAt(0), 121)).toBe(false);
    // Two readings that came close together say nothing of the next.
    expect(ageLimit(placeHeardAt(0, 1), 121)).toBe(true);
  });
});

describe("the air that is judged by", () => {
  const airWith = (rhPercent: number) =>
    currentAir(
      {
        current: (_place, quantity) => {
          const value = { "air-temperature": 20, "air-humidity": rhPercent }[quantity as string];
          return value === undefined ? undefined : { value, atMs: t0, sensor: "pi/air", cadenceMs: 10_000 };
        },
      },
      "booth",
      t0,
    );

  it("has a dew point, and none where there is no water at all", () => {
    // 20 °C and 50 %: psychrolib gives 9.27 °C.
    expect(airWith(50).dewPointC).toBeCloseTo(9.27, 1);
    expect(airWith(0)).toEqual({ airC: 20, rhPercent: 0, panelC: null, dewPointC: null });
  });
});
