import { expect, it } from "vitest";
import { InstrumentCare } from "./instruments.ts";
import { instrumentsSchema } from "./settings.ts";

const measured = (value: number, sensor = "plenum") => ({ sensor, quantity: "air-humidity", value }) as const;

it("passes on what an instrument without settings reads, to the last digit", () => {
  const care = new InstrumentCare({});
  expect(care.take(measured(0.1 + 0.2), 0)).toEqual(measured(0.1 + 0.2));
});

it("corrects by slope and offset", () => {
  const care = new InstrumentCare(
    instrumentsSchema.parse({ plenum: { "air-humidity": { slope: 0.5, offset: 8, calibrated: "2026-03-01" } } }),
  );
  expect(care.take(measured(64), 0)).toEqual(measured(40));
  expect(care.take({ ...measured(64), sensor: "bay" }, 0)).toEqual(measured(64, "bay"));
  expect(care.take({ ...measured(64), quantity: "air-temperature" }, 0).value).toBe(64);
});

it("takes a humidity that comes out a little over 100 % for that of saturated air, and judges one further off", () => {
  const care = new InstrumentCare(instrumentsSchema.parse({ plenum: { "air-humidity": { offset: 3 } } }));
  expect(care.take(measured(98), 0)).toEqual(measured(100));
  expect(care.take(measured(-5), 600_000)).toEqual(measured(0));
  expect(care.take(measured(101), 601_000)).toEqual({
    ...measured(104),
    mark: { quality: "bad", why: "out of range" },
  });
});

it("holds an instrument to its own limits", () => {
  const care = new InstrumentCare(
    instrumentsSchema.parse({
      plenum: { "air-humidity": { lowest: 5, highest: 95, fastestPerMinute: 1, stuckMinutes: 1 } },
    }),
  );
  expect(care.take(measured(96), 0).mark?.why).toBe("out of range");
  expect(care.take(measured(50), 0).mark).toBeUndefined();
  expect(care.take(measured(52), 60_000).mark?.why).toBe("fast change");
  expect(care.take(measured(52), 120_000).mark?.why).toBe("stuck");
});

it("judges each sensor and quantity by its own past", () => {
  const care = new InstrumentCare({});
  care.take(measured(40), 0);
  expect(care.take(measured(90, "bay"), 1000).mark).toBeUndefined();
  expect(care.take({ ...measured(80), quantity: "panel-temperature" }, 1000).mark).toBeUndefined();
  expect(care.take(measured(90), 1000).mark).toEqual({ quality: "bad", why: "spike" });
});

it("marks what is no number", () => {
  expect(new InstrumentCare({}).take(measured(Number.NaN), 0).mark).toEqual({ quality: "bad", why: "out of range" });
});

it("takes no inherited property of an object for the settings of a sensor", () => {
  const care = new InstrumentCare({});
  expect(care.take(measured(40, "constructor"), 0)).toEqual(measured(40, "constructor"));
});
