import { expect, it } from "vitest";
import { shopTimeOf } from "./shop-time.ts";

const workday = { days: ["mon" as const, "fri" as const], from: "07:30", to: "17:00" };
const berlin = shopTimeOf({ timeZone: "Europe/Berlin", workday });
const at = (iso: string) => Date.parse(iso);

it("tells the distance from UTC across a daylight-saving change", () => {
  expect(berlin.offsetMs(at("2026-03-29T00:59:00Z"))).toBe(3_600_000);
  expect(berlin.offsetMs(at("2026-03-29T01:00:00Z"))).toBe(7_200_000);
});
it("tells the end of work by the wall clock, only on a day with work and before it", () => {
  expect(berlin.workEndsAtMs(at("2026-03-02T08:00:00Z"))).toBe(at("2026-03-02T16:00:00Z"));
  expect(berlin.workEndsAtMs(at("2026-07-06T08:00:00Z"))).toBe(at("2026-07-06T15:00:00Z"));
  expect(berlin.workEndsAtMs(at("2026-03-02T16:00:00Z"))).toBeNull();
  expect(berlin.workEndsAtMs(at("2026-03-03T08:00:00Z"))).toBeNull();
  expect(shopTimeOf({ timeZone: "Europe/Berlin", workday: undefined }).workEndsAtMs(0)).toBeNull();
});
it("takes 24:00 as midnight, on the day the clocks change too", () => {
  const late = shopTimeOf({ timeZone: "Europe/Berlin", workday: { days: ["sun"], from: "00:00", to: "24:00" } });
  expect(late.workEndsAtMs(at("2026-03-29T10:00:00Z"))).toBe(at("2026-03-29T22:00:00Z"));
});

it("tells the days of the shop's calendar, the short and the long one too", () => {
  const hours = ({ date, fromMs, toMs }: { date: string; fromMs: number; toMs: number }) => [
    date,
    (toMs - fromMs) / 3_600_000,
  ];
  const spring = berlin.daysUntil(at("2026-03-29T22:30:00Z"), 3);
  expect(spring.map(hours)).toEqual([
    ["2026-03-28", 24],
    ["2026-03-29", 23],
    ["2026-03-30", 24],
  ]);
  expect(spring[1]?.fromMs).toBe(at("2026-03-28T23:00:00Z"));
  expect(berlin.daysUntil(at("2026-10-25T22:59:00Z"), 1).map(hours)).toEqual([["2026-10-25", 25]]);
});
