import { describe, expect, it } from "vitest";
import { exampleClock } from "./example-words.ts";
import { ageText, differenceIn, inUnit, isDim, msOf } from "./shop-clock.ts";

const berlin = exampleClock("en", "Europe/Berlin");
const chicago = exampleClock("en", "America/Chicago", { temperature: "F", clock: "12h" });

describe("shopClock", () => {
  it("writes the time of the shop's zone, in winter and in summer", () => {
    expect(berlin.time(Date.UTC(2026, 0, 5, 9, 2))).toBe("10:02");
    expect(berlin.time(Date.UTC(2026, 6, 5, 9, 2))).toBe("11:02");
    expect(chicago.time(Date.UTC(2026, 0, 5, 6, 2))).toBe("12:02 am");
    expect(chicago.time(Date.UTC(2026, 0, 5, 19, 2))).toBe("1:02 pm");
  });
  it("writes midnight as 00:00 and not as 24:00", () => {
    expect(berlin.time(Date.UTC(2026, 0, 4, 23, 0))).toBe("00:00");
  });
  it("adds the weekday on another local day and the date six days away", () => {
    const now = Date.UTC(2026, 2, 2, 21, 30);
    expect(berlin.when(Date.UTC(2026, 2, 2, 22, 59), now)).toBe("23:59");
    expect(berlin.when(Date.UTC(2026, 2, 2, 23, 1), now)).toBe("Tue 00:01");
    expect(berlin.when(Date.UTC(2026, 2, 8, 9), now)).toBe("8 Mar 10:00");
    expect(berlin.when(Date.UTC(2026, 2, 1, 9), now)).toBe("Sun 10:00");
  });
  it("does not say the day of an earlier time twice, and never reckons a day from it", () => {
    const now = Date.UTC(2026, 2, 2, 9);
    const first = Date.UTC(2026, 2, 9, 9);
    expect(berlin.whenAfter(first, Date.UTC(2026, 2, 9, 22, 59), now)).toBe("23:59");
    expect(berlin.whenAfter(first, Date.UTC(2026, 2, 9, 23, 1), now)).toBe("10 Mar 00:01");
    expect(berlin.whenAfter(Date.UTC(2026, 2, 3, 9), Date.UTC(2026, 2, 2, 10), now)).toBe("11:00");
  });
  it("gives an empty text for an instant that is no number", () => {
    expect(berlin.time(Number.NaN)).toBe("");
    expect(berlin.when(Number.NaN, 0)).toBe("");
  });
  it("knows the offset on both sides of a change to summer time (29 March 2026, 01:00 UTC, EU directive 2000/84/EC)", () => {
    expect(berlin.offsetMs(Date.UTC(2026, 2, 29, 0, 59, 59, 500))).toBe(3_600_000);
    expect(berlin.offsetMs(Date.UTC(2026, 2, 29, 1))).toBe(7_200_000);
  });
  it("counts minutes since local midnight", () => {
    expect(berlin.minuteOfDay(Date.UTC(2026, 0, 4, 23, 7))).toBe(7);
    expect(chicago.minuteOfDay(Date.UTC(2026, 0, 5, 5, 59, 59))).toBe(1439);
  });
  it("refuses an unknown time zone", () => {
    expect(() => exampleClock("en", "Mars/Base")).toThrow(RangeError);
  });
});

describe("msOf", () => {
  it("reads an instant with an offset and gives null for anything else", () => {
    expect(msOf("2026-03-02T09:00:00+01:00")).toBe(Date.UTC(2026, 2, 2, 8));
    expect(msOf(null)).toBeNull();
    expect(msOf("soon")).toBeNull();
  });
});

describe("ageText", () => {
  const ages = [-5, 99_000, 100_000, 100 * 60_000, 47.9 * 3_600_000, 49 * 3_600_000, Number.NaN];
  it("changes its unit as the age grows, in each language", () => {
    const texts = (words: typeof berlin.words) => ages.map((ms) => ageText(ms, words));
    expect(texts(berlin.words)).toEqual(["0 s", "99 s", "1 min", "1 h", "47 h", "2 days", "unknown"]);
    expect(texts(exampleClock("de").words).slice(-2)).toEqual(["2 Tage", "unbekannt"]);
  });
});

describe("temperatures", () => {
  it("convert to °F, and a difference without the offset", () => {
    expect(inUnit(-40, "F")).toBe(-40);
    expect(inUnit(100, "F")).toBe(212);
    expect(differenceIn(3, "F")).toBeCloseTo(5.4, 10);
    expect(differenceIn(3, "C")).toBe(3);
  });
});

describe("isDim", () => {
  it("covers hours over midnight, the end excluded", () => {
    const hours = { from: "20:00", to: "6" };
    expect([1199, 1200, 0, 359, 360].map((minute) => isDim(hours, minute))).toEqual([false, true, true, true, false]);
  });
  it("covers hours within a day and the whole day", () => {
    expect([719, 720, 779, 780].map((minute) => isDim({ from: "12", to: "13" }, minute))).toEqual([
      false,
      true,
      true,
      false,
    ]);
    expect(isDim({ from: "0", to: "24" }, 1439)).toBe(true);
  });
  it("never dims without hours or with hours it cannot read", () => {
    expect(isDim(null, 0)).toBe(false);
    expect(isDim({ from: "dusk", to: "6" }, 0)).toBe(false);
    expect(isDim({ from: "25:00", to: "6" }, 0)).toBe(false);
  });
});
