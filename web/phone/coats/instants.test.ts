import { DateTime } from "luxon";
import { describe, expect, it } from "vitest";
import { instantOf, nextInstantOf } from "./instants.ts";

const zone = "Europe/Berlin";
const clock = { offsetMs: (atMs: number) => DateTime.fromMillis(atMs, { zone }).offset * 60_000 };
const at = (local: string) => DateTime.fromISO(local, { zone }).toMillis();

describe("a time of day as it is typed", () => {
  it("is the last time that the clock showed it", () => {
    expect(instantOf("09:30", at("2026-03-02T10:00"), clock)).toBe(at("2026-03-02T09:30"));
    expect(instantOf("10:00", at("2026-03-02T10:00"), clock)).toBe(at("2026-03-02T10:00"));
    expect(instantOf("23:50", at("2026-03-02T00:10"), clock)).toBe(at("2026-03-01T23:50"));
  });

  it("holds over the nights when the clocks change", () => {
    expect(instantOf("23:00", at("2026-03-29T08:00"), clock)).toBe(at("2026-03-28T23:00"));
    expect(instantOf("23:00", at("2026-10-25T08:00"), clock)).toBe(at("2026-10-24T23:00"));
  });

  it("is, of what is promised, the next time", () => {
    expect(nextInstantOf("17:00", at("2026-03-02T10:00"), clock)).toBe(at("2026-03-02T17:00"));
    expect(nextInstantOf("09:00", at("2026-03-02T10:00"), clock)).toBe(at("2026-03-03T09:00"));
  });

  it("is none where it is no time", () => {
    for (const time of ["", "9", "ab:cd"]) expect(instantOf(time, 0, clock)).toBeNull();
  });
});
