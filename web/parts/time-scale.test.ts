import { describe, expect, it } from "vitest";
import { exampleCoat, exampleStage, minutes } from "./example-coat.ts";
import { courseScale, sharedScale, shareOf } from "./time-scale.ts";

const later = (safe: number) => exampleCoat("1", [exampleStage("sand", "not yet", safe - 5, safe)]);

describe("sharedScale", () => {
  it("holds the finish, now and the next safe time of every coat", () => {
    const scale = sharedScale([later(80), later(110)], minutes(40), 0, 8);
    expect(scale.fromMs).toBeLessThanOrEqual(minutes(0));
    expect(scale.toMs).toBeGreaterThanOrEqual(minutes(110));
  });
  it("leaves a stage days ahead out instead of squeezing the axis", () => {
    const scale = sharedScale([later(40), later(6000)], minutes(30), 0, 8);
    expect(scale.toMs - minutes(30)).toBeLessThan(2 * 3_600_000);
  });
  it("cuts off an old finish when something happens soon", () => {
    const scale = sharedScale([later(1510)], minutes(1500), 0, 8);
    expect(minutes(1500) - scale.fromMs).toBeLessThanOrEqual(75 * 60_000);
  });
  it("keeps now off both edges, whatever the coats wait for", () => {
    for (const [safe, now] of [
      [20, 0],
      [400, 2],
      [1500, 1400],
      [600, 300],
      [31, 30],
    ] as const) {
      const share = shareOf(sharedScale([later(safe)], minutes(now), 0, 8), minutes(now));
      expect(share).toBeGreaterThan(0.15);
      expect(share).toBeLessThan(0.8);
    }
  });
  it("shows hours of the past, and half as many ahead, without a coat", () => {
    const scale = sharedScale([], minutes(0), 0, 8);
    expect(shareOf(scale, minutes(0))).toBeCloseTo(2 / 3, 1);
    expect(minutes(0) - scale.fromMs).toBeGreaterThanOrEqual(240 * 60_000);
  });
  it("of one coat's course holds its finish, now, and what comes next within six hours", () => {
    const course = courseScale(later(1510), minutes(1400), 0, 5);
    expect(shareOf(course, minutes(0))).toBeGreaterThan(0);
    expect(shareOf(course, minutes(0))).toBeLessThan(0.05);
    expect(shareOf(course, minutes(1510))).toBeLessThan(1);
    expect(shareOf(courseScale(later(6000), minutes(60), 0, 5), minutes(60))).toBeGreaterThan(0.8);
    expect(course.ticksMs.length).toBeGreaterThanOrEqual(3);
  });
  it("ends with a coat that waits for nothing more", () => {
    const done = exampleCoat("1", [exampleStage("sand", "ready", 80, 90)]);
    const course = courseScale(done, minutes(9000), 0, 5);
    expect(shareOf(course, minutes(90))).toBeGreaterThan(0.7);
    expect(shareOf(course, minutes(90))).toBeLessThan(1);
  });
  it("puts ticks on full hours of a zone that is half an hour off", () => {
    const offsetMs = 5.5 * 3_600_000;
    const scale = sharedScale([later(300)], minutes(0), offsetMs, 4);
    expect(scale.ticksMs.length).toBeGreaterThan(1);
    for (const tick of scale.ticksMs) expect((tick + offsetMs) % 3_600_000).toBe(0);
  });
  it("never draws more than one tick beyond the number asked for", () => {
    for (const safe of [5, 45, 130, 359]) {
      expect(sharedScale([later(safe)], minutes(0), 0, 5).ticksMs.length).toBeLessThanOrEqual(6);
    }
  });
});
