import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Quantity } from "../readings.ts";
import { isPhysical } from "../readings.ts";
import type { RoomOptions } from "./rehearsal-rooms.ts";
import { inventedRoom } from "./rehearsal-rooms.ts";

const zone = "Europe/Berlin";
const instants = fc.integer({ min: Date.UTC(2026, 0, 1), max: Date.UTC(2028, 0, 1) });
const seeds = fc.nat({ max: 1_000_000 });

function roomOf(room: RoomOptions["room"], seed = 1, sensor = "s") {
  const { read } = inventedRoom({ room, seed, sensor, zone });
  return (quantity: Quantity, atMs: number) => new Map(read(atMs)).get(quantity) ?? Number.NaN;
}

describe("inventedRoom", () => {
  it("gives the same values for the same instant, asked in any order by any instance", () => {
    fc.assert(
      fc.property(instants, instants, fc.constantFrom("booth", "prep", "workshop", "yard", "mixing"), (a, b, room) => {
        const options = { room, seed: 7, sensor: "s", zone } as const;
        const asked = inventedRoom(options);
        asked.read(b);
        expect(asked.read(a)).toEqual(inventedRoom(options).read(a));
      }),
      { numRuns: 200 },
    );
  });

  it("never gives a value that is no measurement", () => {
    fc.assert(
      fc.property(
        instants,
        seeds,
        fc.constantFrom("booth", "prep", "workshop", "yard", "mixing"),
        (atMs, seed, room) => {
          for (const [quantity, value] of inventedRoom({ room, seed, sensor: "s", zone }).read(atMs)) {
            expect(isPhysical(quantity, value)).toBe(true);
          }
        },
      ),
      { numRuns: 500 },
    );
  });

  it("has no jump: two readings a second apart differ by what a door and a noisy sensor can do, also as clocks change", () => {
    const clocksGoBack = fc.integer({ min: Date.UTC(2026, 9, 25, 0), max: Date.UTC(2026, 9, 25, 3) });
    fc.assert(
      fc.property(fc.oneof(instants, clocksGoBack), fc.constantFrom("booth", "workshop", "yard"), (atMs, room) => {
        const value = roomOf(room);
        expect(Math.abs(value("air-temperature", atMs + 1000) - value("air-temperature", atMs))).toBeLessThan(0.25);
        expect(Math.abs(value("air-humidity", atMs + 1000) - value("air-humidity", atMs))).toBeLessThan(2.5);
      }),
      { numRuns: 500 },
    );
  });

  it("keeps the yard between 4 and 12 °C and 75 and 95 %", () => {
    fc.assert(
      fc.property(instants, seeds, (atMs, seed) => {
        const value = roomOf("yard", seed);
        expect(value("air-temperature", atMs)).toBeGreaterThan(4);
        expect(value("air-temperature", atMs)).toBeLessThan(12);
        expect(value("air-humidity", atMs)).toBeGreaterThan(75);
        expect(value("air-humidity", atMs)).toBeLessThan(95);
      }),
      { numRuns: 500 },
    );
  });

  it("takes the booth above 75 % and back below 60 % in every seven and a half minutes, peaking between 78 and 88 %", () => {
    fc.assert(
      fc.property(instants, seeds, (fromMs, seed) => {
        const value = roomOf("booth", seed);
        const humidities = Array.from({ length: 91 }, (_, n) => value("air-humidity", fromMs + n * 5000));
        const highest = Math.max(...humidities);
        expect(highest).toBeGreaterThan(78);
        expect(highest).toBeLessThan(88);
        expect(Math.min(...humidities)).toBeGreaterThan(50);
        expect(Math.min(...humidities)).toBeLessThan(60);
      }),
      { numRuns: 200 },
    );
  });

  it("keeps the booth above 75 % for 60 to 120 seconds an opening", () => {
    const value = roomOf("booth", 3);
    const from = Date.UTC(2026, 10, 3, 2);
    let secondsAbove = 0;
    const spells: number[] = [];
    for (let s = 0; s < 6 * 3600; s += 1) {
      if (value("air-humidity", from + s * 1000) > 75) secondsAbove += 1;
      else {
        // Sensor noise splits a spell where it crosses; such splinters are no spells.
        if (secondsAbove > 10) spells.push(secondsAbove);
        secondsAbove = 0;
      }
    }
    expect(spells.length).toBeGreaterThanOrEqual(59);
    expect(Math.min(...spells)).toBeGreaterThan(60);
    expect(Math.max(...spells)).toBeLessThan(120);
  });

  it("has the booth's panel follow its air slowly, and its air move at about 0.3 m/s", () => {
    fc.assert(
      fc.property(instants, (atMs) => {
        const value = roomOf("booth");
        expect(value("panel-temperature", atMs)).toBeGreaterThan(20);
        expect(value("panel-temperature", atMs)).toBeLessThan(21.8);
        expect(Math.abs(value("panel-temperature", atMs + 60_000) - value("panel-temperature", atMs))).toBeLessThan(
          0.25,
        );
        expect(Math.abs(value("air-speed", atMs) - 0.3)).toBeLessThan(0.03);
      }),
      { numRuns: 200 },
    );
  });

  it("heats the workshop by day, lets it cool at night by the five-hour constant, and makes it damp in the afternoon", () => {
    const value = roomOf("workshop");
    const local = (hour: number) => Date.UTC(2026, 10, 3, hour - 1);
    expect(value("air-temperature", local(12))).toBeGreaterThan(19);
    expect(value("air-temperature", local(17))).toBeLessThan(20);
    const [at18, at23, at6] = [local(18), local(23), local(30)].map((atMs) => value("air-temperature", atMs));
    const rest = roomOf("yard")("air-temperature", local(23)) + 5;
    expect((at23 ?? 0) - rest).toBeCloseTo((19.5 - rest) / Math.E, 0);
    expect(at18).toBeGreaterThan(at23 ?? 0);
    expect(at23).toBeGreaterThan(at6 ?? 0);
    expect(value("air-humidity", local(15))).toBeGreaterThan(value("air-humidity", local(9)) + 8);
  });

  it("gives two sensors the same weather but each its own doors and noise", () => {
    const atMs = Date.UTC(2026, 10, 3, 12);
    const far = Math.abs(
      roomOf("yard", 1, "a")("air-temperature", atMs) - roomOf("yard", 1, "b")("air-temperature", atMs),
    );
    expect(far).toBeLessThan(0.1);
    const booths = ["a", "b"].map((sensor) => roomOf("booth", 1, sensor));
    const humidities = booths.map((value) =>
      Array.from({ length: 50 }, (_, n) => value("air-humidity", atMs + n * 5000)),
    );
    expect(humidities[0]).not.toEqual(humidities[1]);
  });
});
