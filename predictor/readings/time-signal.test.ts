import { afterEach, beforeEach, expect, it, vi } from "vitest";
import type { ClockState } from "../../collector/readings.ts";
import { startTimeSignal } from "./time-signal.ts";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

it("tells the time every five seconds, and whether it is to be believed, until it is stopped", () => {
  const said: [string, object][] = [];
  let clock: ClockState = "unsynchronised";
  const stop = startTimeSignal({
    link: { say: (...message) => void said.push(message) },
    topic: "coatclock/1/shop/time",
    now: () => Date.UTC(2026, 2, 2, 8),
    clockState: () => clock,
  });
  vi.advanceTimersByTime(5_000);
  clock = "synchronised";
  vi.advanceTimersByTime(5_000);
  stop();
  vi.advanceTimersByTime(60_000);
  const at = "2026-03-02T08:00:00.000Z";
  expect(said).toEqual([
    ["coatclock/1/shop/time", { at, believed: false }],
    ["coatclock/1/shop/time", { at, believed: true }],
  ]);
});
