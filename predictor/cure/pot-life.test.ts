import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Mixture, potLife, type RoomReading } from "./pot-life.ts";

const minute = 60_000;
const mixture: Mixture = { minutesAt20C: 120, activationEnergyKJ: 50 };
const at = (minutes: number, airC: number): RoomReading => ({ atMs: minutes * minute, airC });
const endsAfter = (readings: RoomReading[], mixedAt = 0, ahead: RoomReading[] = []) =>
  (potLife(mixture, mixedAt * minute, readings, mixedAt * minute, ahead).endsAtMs ?? Number.NaN) / minute - mixedAt;

/** Share of the pot life used up, by 200,000 thin slices of the room's temperature. */
function slicedShare(airAt: (minutes: number) => number, minutes: number): number {
  const slices = 200_000;
  let sum = 0;
  for (let i = 0; i < slices; i++) {
    const kelvin = airAt(((i + 0.5) * minutes) / slices) + 273.15;
    sum += Math.exp((-50_000 / 8.314462618) * (1 / kelvin - 1 / 293.15));
  }
  return (sum * minutes) / slices / mixture.minutesAt20C;
}

describe("a pot in a room at one temperature", () => {
  it("lasts what the sheet says at 20 °C", () => {
    expect(endsAfter([at(0, 20)])).toBeCloseTo(120, 4);
  });
  it("lasts longer in the cold and shorter in the warm, by the activation energy", () => {
    for (const airC of [5, 15, 30, 40]) {
      const expected = 120 * Math.exp((50_000 / 8.314462618) * (1 / (airC + 273.15) - 1 / 293.15));
      expect(endsAfter([at(0, airC)])).toBeCloseTo(expected, 4);
    }
  });
  it("is to be used before its likely end, when one in ten has ended", () => {
    const { useByAtMs } = potLife(mixture, 0, [at(0, 20)], 0);
    expect((useByAtMs as number) / minute).toBeCloseTo(120 * Math.exp(-1.2816 * 0.15), 4);
  });
  it("uses up its share evenly, none before the mixing, more than all after the end", () => {
    const shareAt = (minutes: number) => potLife(mixture, 0, [at(0, 20)], minutes * minute).usedShare;
    expect(shareAt(-5)).toBe(0);
    expect(shareAt(0)).toBe(0);
    expect(shareAt(30)).toBeCloseTo(0.25, 12);
    expect(shareAt(180)).toBeCloseTo(1.5, 12);
  });
  it("has no end where that is more than a hundred years off", () => {
    const life = potLife({ minutesAt20C: 1e9, activationEnergyKJ: 50 }, 0, [at(0, 0)], 0);
    expect(life).toEqual({ usedShare: 0, endsAtMs: null, useByAtMs: null });
  });
});

describe("a pot in a room whose temperature changes", () => {
  it("has used up what thin slices of a ramp sum up to, inside a step and at its end", () => {
    const ramp = [at(0, 10), at(240, 40)];
    const airAt = (minutes: number) => 10 + minutes / 8;
    for (const minutes of [7, 60, 101.5, 240]) {
      const { usedShare } = potLife(mixture, 0, ramp, minutes * minute);
      expect((usedShare as number) / slicedShare(airAt, minutes)).toBeCloseTo(1, 6);
    }
    const end = endsAfter(ramp);
    expect(end < 240 && slicedShare(airAt, end)).toBeCloseTo(1, 5);
  });
  it("takes two readings at one instant as a step", () => {
    const { usedShare } = potLife(mixture, 0, [at(0, 20), at(30, 20), at(30, 35), at(60, 35)], 60 * minute);
    expect(usedShare).toBeCloseTo(
      slicedShare((minutes) => (minutes < 30 ? 20 : 35), 60),
      9,
    );
  });
  it("goes on along the forecast, then at its last temperature, and the forecast changes nothing that is read", () => {
    const readings = [at(0, 20), at(30, 20)];
    const ahead = [at(10, 60), at(30, 60), at(31, 30), at(60, 30)];
    const airAt = (minutes: number) => (minutes < 30 ? 20 : minutes < 31 ? 20 + 10 * (minutes - 30) : 30);
    expect(slicedShare(airAt, endsAfter(readings, 0, ahead))).toBeCloseTo(1, 4);
    expect(potLife(mixture, 0, readings, 20 * minute, ahead).usedShare).toBeCloseTo(20 / 120, 12);
  });
  it("is never later at its end for a warmer reading", () => {
    const room = fc.array(fc.double({ min: -10, max: 60, noNaN: true }), { minLength: 2, maxLength: 12 });
    fc.assert(
      fc.property(room, fc.nat(), fc.double({ min: 0.1, max: 20, noNaN: true }), (temps, which, more) => {
        const readings = temps.map((airC, index) => at(index * 9, airC));
        const warmer = readings.map((reading, index) =>
          index === which % temps.length ? { ...reading, airC: reading.airC + more } : reading,
        );
        expect(endsAfter(warmer)).toBeLessThanOrEqual(endsAfter(readings) + 1e-4);
      }),
    );
  });
  it("says the same share at its end and use-by as its instants say", () => {
    const room = fc.array(fc.double({ min: -5, max: 50, noNaN: true }), { minLength: 1, maxLength: 12 });
    fc.assert(
      fc.property(room, (temps) => {
        const readings = temps.map((airC, index) => at(index * 17, airC));
        const { endsAtMs, useByAtMs } = potLife(mixture, 0, readings, 0);
        expect(useByAtMs as number).toBeLessThan(endsAtMs as number);
        expect(potLife(mixture, 0, readings, endsAtMs as number).usedShare).toBeCloseTo(1, 6);
        expect(potLife(mixture, 0, readings, useByAtMs as number).usedShare).toBeCloseTo(Math.exp(-1.2816 * 0.15), 6);
      }),
    );
  });
});

describe("the temperature at the mixing", () => {
  it("lies between the readings before and after it", () => {
    const between = endsAfter([at(-10, 10), at(10, 30), at(20, 30)]);
    expect(between).toBeCloseTo(endsAfter([at(0, 20), at(10, 30), at(20, 30)]), 4);
  });
  it("is that of the last reading where none comes after", () => {
    expect(endsAfter([at(-300, 30)])).toBeCloseTo(endsAfter([at(0, 30)]), 4);
  });
  it("is that of the last reading at its own instant where that is a step", () => {
    expect(endsAfter([at(0, 10), at(0, 30)])).toBeCloseTo(endsAfter([at(0, 30)]), 4);
  });
  it("is the first one's after it where that came within ten minutes, and not told otherwise", () => {
    expect(endsAfter([at(10, 30)])).toBeCloseTo(endsAfter([at(0, 30)]), 4);
    for (const readings of [[], [at(10.1, 30)]]) {
      const life = potLife(mixture, 0, readings, 30 * minute, [at(0, 20)]);
      expect(life).toMatchObject({ usedShare: null, endsAtMs: null, useByAtMs: null });
      expect(life.why).toContain("no reading");
    }
  });
});

describe("what cannot be", () => {
  it("is refused: mixtures, instants, readings, and readings out of order", () => {
    const refused: (() => unknown)[] = [
      () => potLife({ ...mixture, minutesAt20C: 0 }, 0, [at(0, 20)], 0),
      () => potLife({ ...mixture, minutesAt20C: Number.NaN }, 0, [at(0, 20)], 0),
      () => potLife({ ...mixture, minutesAt20C: Number.POSITIVE_INFINITY }, 0, [at(0, 20)], 0),
      () => potLife({ ...mixture, activationEnergyKJ: 0 }, 0, [at(0, 20)], 0),
      () => potLife({ ...mixture, activationEnergyKJ: Number.NaN }, 0, [at(0, 20)], 0),
      () => potLife(mixture, Number.NaN, [at(0, 20)], 0),
      () => potLife(mixture, 0, [at(0, 20)], Number.POSITIVE_INFINITY),
      () => potLife(mixture, 0, [at(0, Number.NaN)], 0),
      () => potLife(mixture, 0, [at(0, 400)], 0),
      () => potLife(mixture, 0, [at(5, 20), at(0, 20)], 0),
      () => potLife(mixture, 0, [at(Number.NaN, 20)], 0),
    ];
    for (const call of refused) expect(call).toThrow(RangeError);
  });
});
