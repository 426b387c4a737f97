import { describe, expect, it } from "vitest";
import { vapourPressureHpa } from "../air/humidity.ts";
import { hour, steady } from "./example-plan.ts";
import { aheadOf, cooled, meanAirC } from "./place-ahead.ts";

const hours = [
  { atMs: 0, airC: 99, coldC: 99 },
  { atMs: hour / 2, airC: 22, coldC: 21 },
  { atMs: hour, airC: 24, coldC: 22 },
];
const warming = steady(20, { hours });

describe("a place ahead", () => {
  it("begins with what is now, follows the forecast evenly and holds its last hour", () => {
    const { likely, cold } = aheadOf(warming, 0);
    expect(likely.map(({ atMs, airC }) => [atMs, airC])).toEqual([
      [0, 20],
      [hour / 2, 22],
      [hour, 24],
    ]);
    expect(cold.map(({ airC }) => airC)).toEqual([20, 21, 22]);
    const later = aheadOf(warming, 2 * hour);
    expect(later.likely.map(({ atMs, airC }) => [atMs, airC])).toEqual([[2 * hour, 24]]);
  });
  it("is cut at both ends between two hours", () => {
    const { likely } = aheadOf(warming, hour / 4, 0.75 * hour);
    expect(likely.map(({ atMs, airC }) => [atMs / hour, airC])).toEqual([
      [0.25, 21],
      [0.5, 22],
      [0.75, 23],
    ]);
  });
  it("keeps the water in its air, and no more than the air can hold", () => {
    const [now, , warm] = aheadOf(warming, 0).likely;
    expect(vapourPressureHpa(24, warm?.rhPercent ?? Number.NaN)).toBeCloseTo(
      vapourPressureHpa(20, now?.rhPercent ?? Number.NaN),
      9,
    );
    const cooling = steady(20, { rhPercent: 90, hours: [{ atMs: hour, airC: 10, coldC: 8 }] });
    expect(aheadOf(cooling, 0).likely.map(({ rhPercent }) => rhPercent)[1]).toBe(100);
  });
  it("lets a measured panel's difference from the air fade by 63 % in two hours, and tells none without a sensor", () => {
    const place = steady(20, { panelC: 15 });
    expect(aheadOf(place, 2 * hour).likely[0]?.panelC).toBeCloseTo(20 - 5 / Math.E, 9);
    expect(aheadOf(steady(20), 2 * hour).likely[0]).not.toHaveProperty("panelC");
  });
  it("cools from where it stands when the heating goes off", () => {
    const place = { ...warming, coolingFrom: (offAtMs: number) => [{ atMs: offAtMs + hour, airC: 10, coldC: 8 }] };
    const { likely, cold } = aheadOf(cooled(place, 0.75 * hour), 0);
    expect(likely.map(({ atMs, airC }) => [atMs / hour, airC])).toEqual([
      [0, 20],
      [0.5, 22],
      [0.75, 23],
      [1.75, 10],
    ]);
    expect(cold.map(({ airC }) => airC)).toEqual([20, 21, 21.5, 8]);
  });
  it("has its mean over time, not over readings", () => {
    expect(meanAirC(warming, 0, hour)).toBeCloseTo(22, 9);
    expect(meanAirC(warming, 0, 3 * hour)).toBeCloseTo((22 + 2 * 24) / 3, 9);
    expect(meanAirC(warming, hour / 2, hour / 2)).toBe(22);
  });
});
