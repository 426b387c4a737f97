import fc from "fast-check";
import { expect, it } from "vitest";
import { quantityNames } from "../../collector/readings.ts";
import { NeighbourWatch } from "./neighbours.ts";

const startMs = Date.parse("2026-03-02T08:00:00Z");
const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

/** Two sensors read once a minute for some hours; the second reads 20, the first differs by what is given. */
function watched(hours: number, difference: (atHour: number) => number, everyMs = minuteMs): NeighbourWatch {
  const watch = new NeighbourWatch("air-temperature");
  for (let atMs = 0; atMs <= hours * hourMs; atMs += everyMs) {
    watch.take(0, startMs + atMs, 20 + difference(atMs / hourMs));
    watch.take(1, startMs + atMs + 700, 20);
  }
  return watch;
}
const after = (hours: number) => startMs + hours * hourMs + 1000;

it("knows nothing before both sensors have read for a while", () => {
  expect(new NeighbourWatch("air-temperature").state(startMs)).toBeNull();
  expect(watched(0.2, () => 5).state(after(0.2))).toBeNull();
});

it("finds two sound sensors in agreement", () => {
  const difference = (hour: number) => 0.6 + 0.3 * Math.sin(40 * hour);
  expect(watched(0.5, difference).state(after(0.5))).toMatchObject({ differs: "no", overHours: 0.5 });
  expect(watched(30, difference).state(after(30))).toMatchObject({ differs: "no", overHours: 24 });
});

it("says now when the last half hour differs by more than twice the bound, by its median and sign", () => {
  const watch = watched(0.5, () => -2.1);
  expect(watch.state(after(0.5))).toEqual({ differs: "now", byMedian: expect.closeTo(-2.1, 9), overHours: 0.5 });
  expect(watched(0.5, () => 1.9).state(after(0.5))).toMatchObject({ differs: "no" });
});

it("is not misled by a short disturbance", () => {
  const door = (hour: number) => (hour > 29.8 && hour < 29.95 ? -8 : 0);
  expect(watched(30, door).state(after(30))).toMatchObject({ differs: "no" });
});

it("says drift when the difference over a day is beyond the bound, though no half hour is beyond twice of it", () => {
  const watch = watched(26, (hour) => 1.3 + 0.4 * Math.sin(hour));
  expect(watch.state(after(26))).toMatchObject({ differs: "drift", overHours: 24 });
  expect(watch.state(after(26))?.byMedian).toBeCloseTo(1.3, 0);
});

it("does not speak of a day before half of it is known", () => {
  const drift = () => 1.5;
  expect(watched(11, drift).state(after(11))).toMatchObject({ differs: "no", overHours: 0.5 });
  expect(watched(13, drift).state(after(13))).toMatchObject({ differs: "drift" });
});

it("forgets what is older than a day", () => {
  const mended = (hour: number) => (hour < 20 ? 1.8 : 0.1);
  expect(watched(30, mended).state(after(30))).toMatchObject({ differs: "drift" });
  expect(watched(45, mended).state(after(45))).toMatchObject({ differs: "no" });
  expect(watched(30, () => 3).state(after(80))).toBeNull();
});

it("compares readings of the same moment only", () => {
  const watch = new NeighbourWatch("air-temperature");
  for (let hour = 0; hour < 10; hour += 0.25) {
    watch.take(0, startMs + hour * hourMs, 40);
    watch.take(1, startMs + hour * hourMs + 6 * minuteMs, 20);
  }
  expect(watch.state(after(10))).toBeNull();
});

it("compares slow sensors too", () => {
  expect(watched(1, () => 4, 9 * minuteMs).state(after(1))).toMatchObject({ differs: "now" });
});

it("passes over readings that come late or are no numbers", () => {
  const watch = watched(0.3, () => 0);
  const newestMs = startMs + 0.3 * hourMs;
  watch.take(0, newestMs - minuteMs, 99);
  for (let n = 1; n < 24; n++) watch.take(1, newestMs + n * 10_000, 20);
  expect(watch.state(newestMs + 4 * minuteMs)).toEqual({ differs: "no", byMedian: 0, overHours: 0.5 });
  watch.take(0, Number.NaN, 99);
  expect(watch.state(newestMs + 4 * minuteMs)).toEqual({ differs: "no", byMedian: 0, overHours: 0.5 });
  expect(watched(1, () => Number.NaN).state(after(1))).toBeNull();
});

it("keeps up with the readings of a month, holding no more than a day's medians and half an hour's pairs", () => {
  const watch = new NeighbourWatch("air-temperature");
  for (let n = 0; n < 3 * 43_200; n++) {
    watch.take(0, startMs + n * 20_000, 20.4);
    watch.take(1, startMs + n * 20_000 + 60, 20);
  }
  expect(watch.state(after(30 * 24))).toEqual({ differs: "no", byMedian: expect.closeTo(0.4, 9), overHours: 24 });
});

it("gives the same when fed from the store, whichever of two simultaneous readings comes first", () => {
  const [one, other] = [new NeighbourWatch("air-humidity"), new NeighbourWatch("air-humidity")];
  for (let n = 0; n < 60; n++) {
    one.take(0, startMs + n * minuteMs, 70);
    one.take(1, startMs + n * minuteMs, 50);
    other.take(1, startMs + n * minuteMs, 50);
    other.take(0, startMs + n * minuteMs, 70);
  }
  expect(one.state(after(1))).toEqual({ differs: "now", byMedian: 20, overHours: 0.5 });
  expect(other.state(after(1))).toEqual(one.state(after(1)));
});

it("never differs where both read the same, whatever the times and the quantity", () => {
  const reading = fc.tuple(fc.constantFrom(0, 1) as fc.Arbitrary<0 | 1>, fc.nat(3 * 24 * 3600));
  fc.assert(
    fc.property(fc.constantFrom(...quantityNames), fc.array(reading, { maxLength: 500 }), (quantity, readings) => {
      const watch = new NeighbourWatch(quantity);
      for (const [which, atS] of readings) watch.take(which, startMs + 1000 * atS, 50);
      for (const hour of [1, 24, 72]) expect(watch.state(after(hour))?.differs ?? "no").toBe("no");
    }),
  );
});
