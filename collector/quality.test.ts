import fc from "fast-check";
import { expect, it } from "vitest";
import { QualityCheck, type QualityLimits } from "./quality.ts";
import { type Quantity, quantities, quantityNames } from "./readings.ts";

const minuteMs = 60_000;

/** What a new check finds against each of some values, one every `everyS`. */
function marks(quantity: Quantity, values: readonly number[], everyS = 5, limits: QualityLimits = {}): string[] {
  const check = new QualityCheck(quantity, limits);
  return values.map((value, n) => {
    const mark = check.judge(1000 * everyS * n, value);
    return mark === undefined ? "good" : `${mark.quality}: ${mark.why}`;
  });
}

const [spike, stuck, fast, out] = ["bad: spike", "bad: stuck", "doubtful: fast change", "bad: out of range"];

it("finds nothing against a quiet sensor, the first reading included", () => {
  expect(marks("air-temperature", [20, 20.1, 20, 19.9, 20.2])).toEqual(Array(5).fill("good"));
});

it.each([
  ["air-temperature", Number.NaN],
  ["air-temperature", Number.POSITIVE_INFINITY],
  ["air-temperature", 85.1],
  ["air-humidity", 100.1],
  ["air-humidity", -0.1],
  ["panel-temperature", 151],
  ["air-speed", -1],
  ["air-pressure", 1013],
] as const)("marks what cannot be measured as out of range: %s %d", (quantity, value) => {
  expect(marks(quantity, [value])).toEqual([out]);
});

it("takes the ends of a range for good", () => {
  for (const quantity of quantityNames) {
    expect(marks(quantity, [quantities[quantity].lowest])).toEqual(["good"]);
    expect(marks(quantity, [quantities[quantity].highest])).toEqual(["good"]);
  }
});

it("holds an instrument to its own range, which cannot widen the quantity's", () => {
  const limits = { lowest: -60, highest: 60 };
  expect(marks("air-temperature", [-50, 60, 60.1], 600, limits)).toEqual([out, "good", out]);
});

it("marks a single wild value as a spike, and believes the next good one", () => {
  expect(marks("air-temperature", [20, 20.1, 42, 20.1, 20.2])).toEqual(["good", "good", spike, "good", "good"]);
});

it("marks the power-on value of a probe that lost its supply, each time it comes", () => {
  expect(marks("air-temperature", [20, 85, 20, 85, 85, 20])).toEqual(["good", spike, "good", spike, spike, "good"]);
});

it("believes a new level from the third reading in a row that agrees: another car before the infrared sensor", () => {
  expect(marks("panel-temperature", [18, 18, 41, 40.5, 40.8, 40.2])).toEqual([
    "good",
    "good",
    spike,
    spike,
    "good",
    "good",
  ]);
});

it("never believes wild values that do not agree with one another", () => {
  const wild = [20, ...Array.from({ length: 60 }, (_, n) => [60, -20, 45][n % 3] ?? 0)];
  expect(marks("air-temperature", wild).slice(1)).toEqual(Array(60).fill(spike));
});

it("asks again for three that agree when a value out of range came between", () => {
  expect(marks("air-temperature", [20, 60, 60, Number.NaN, 60, 60, 60])).toEqual([
    "good",
    spike,
    spike,
    out,
    spike,
    spike,
    "good",
  ]);
});

it("calls nothing a spike or fast after a gap, and compares from there on", () => {
  const check = new QualityCheck("air-temperature", {});
  expect(check.judge(0, 20)).toBeUndefined();
  expect(check.judge(5 * minuteMs + 1, 75)).toBeUndefined();
  expect(check.judge(6 * minuteMs, 20)).toEqual({ quality: "bad", why: "spike" });
});

it("marks a change faster than the bound over a minute as doubtful, while it lasts", () => {
  const steady = marks(
    "air-temperature",
    Array.from({ length: 7 }, (_, n) => 20 + 9 * n),
    60,
  );
  expect(steady).toEqual(Array(7).fill("good"));
  const quick = marks(
    "air-temperature",
    Array.from({ length: 6 }, (_, n) => 20 + 11 * n),
    60,
  );
  expect(quick).toEqual(["good", ...Array(5).fill(fast)]);
});

it("takes the rate from a minute ago, not from long ago", () => {
  expect(marks("air-temperature", [...Array(60).fill(20), 31, 42], 60).slice(59)).toEqual(["good", fast, fast]);
});

it("takes what a sensor does within seconds for noise, up to a minute's worth of change", () => {
  expect(marks("air-temperature", [20, 22, 20, 22, 20.5])).toEqual(Array(5).fill("good"));
});

it("holds a sensor to the fastest change that the shop file gives it", () => {
  const rising = [20, 23, 26];
  expect(marks("air-temperature", rising, 60, { fastestPerMinute: 2 })).toEqual(["good", fast, fast]);
  expect(marks("air-temperature", [20, 50, 80], 60, { fastestPerMinute: 40 })).toEqual(Array(3).fill("good"));
});

it("marks a value that has not moved at all for too long as stuck, until it moves", () => {
  const values = [...Array(31).fill(21.5), 21.6];
  const found = marks("air-temperature", values, 60, { stuckMinutes: 30 });
  expect(found.slice(0, 30)).toEqual(Array(30).fill("good"));
  expect(found.slice(30)).toEqual([stuck, "good"]);
});

it("believes the first value after a stuck one, however far away it is", () => {
  expect(marks("air-temperature", [20, 20, 20, 70, 70.1], 60, { stuckMinutes: 2 })).toEqual([
    "good",
    "good",
    stuck,
    "good",
    "good",
  ]);
});

it("finds a stuck sensor in hours, a hot one in half an hour, as the shop file says, and never where it says off", () => {
  const minutes = (quantity: Quantity, value: number, limits: QualityLimits = {}) =>
    marks(quantity, Array(300).fill(value), 60, limits).indexOf(stuck);
  expect(minutes("panel-temperature", 20)).toBe(240);
  expect(minutes("panel-temperature", 60)).toBe(30);
  expect(minutes("air-temperature", 60)).toBe(30);
  expect(minutes("air-humidity", 50)).toBe(120);
  expect(minutes("air-temperature", 20, { stuckMinutes: 90 })).toBe(90);
  expect(minutes("air-temperature", 60, { stuckMinutes: 90 })).toBe(90);
  expect(minutes("air-temperature", 20, { stuckMinutes: "off" })).toBe(-1);
});

it("does not count the time without readings as stuck", () => {
  const check = new QualityCheck("air-temperature", { stuckMinutes: 30 });
  check.judge(0, 20);
  expect(check.judge(600 * minuteMs, 20)).toBeUndefined();
  expect(check.judge(601 * minuteMs, 20)).toBeUndefined();
});

it("lets still air and air full of moisture read the same for hours, but not a flow that never moves", () => {
  const day = (quantity: Quantity, value: number, limits: QualityLimits = {}) =>
    new Set(marks(quantity, Array(600).fill(value), 60, limits));
  expect(day("air-speed", 0)).toEqual(new Set(["good"]));
  expect(day("air-speed", 0, { stuckMinutes: 30 })).toEqual(new Set(["good"]));
  expect(day("air-humidity", 100)).toEqual(new Set(["good"]));
  expect(day("air-speed", 0.4)).toContain(stuck);
  expect(day("air-humidity", 0)).toContain(stuck);
});

it("takes a clock that goes backwards for one that stands", () => {
  const check = new QualityCheck("air-temperature", {});
  expect(check.judge(100_000, 20)).toBeUndefined();
  expect(check.judge(50_000, 20.1)).toBeUndefined();
  expect(check.judge(50_001, 60)).toEqual({ quality: "bad", why: "spike" });
  expect(check.judge(101_000, 20)).toBeUndefined();
});

it("flags each kind of fault within two readings of when it can be known", () => {
  expect(marks("air-humidity", [50, 51, 5]).slice(2)).toEqual([spike]);
  expect(marks("air-humidity", [50, 51, Number.NaN]).slice(2)).toEqual([out]);
  expect(marks("air-humidity", [50, 50, 50, 50], 60, { stuckMinutes: 2 }).slice(2)).toEqual([stuck, stuck]);
  expect(marks("air-humidity", [30, 60], 60).slice(1)).toEqual([fast]);
});

it("says good of nothing out of range and bad of no slow change, whatever comes", () => {
  const value = fc.oneof(fc.double(), fc.double({ min: -100, max: 200, noNaN: true }));
  fc.assert(
    fc.property(fc.constantFrom(...quantityNames), fc.array(fc.tuple(fc.nat(400_000), value)), (quantity, steps) => {
      const check = new QualityCheck(quantity, {});
      const { lowest, highest } = quantities[quantity];
      let atMs = 0;
      for (const [stepMs, each] of steps) {
        atMs += stepMs;
        const mark = check.judge(atMs, each);
        expect(mark?.why === "out of range").toBe(!(each >= lowest && each <= highest));
      }
    }),
  );
  fc.assert(
    fc.property(fc.array(fc.double({ min: -0.9, max: 0.9, noNaN: true })), (steps) => {
      let value = 20;
      const walk = steps.map((step) => {
        value = Math.min(60, Math.max(0, value + step));
        return value;
      });
      for (const mark of marks("air-temperature", walk, 30, { stuckMinutes: "off" })) expect(mark).toBe("good");
    }),
  );
});
