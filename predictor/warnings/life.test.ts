import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import type { Condition } from "./condition.ts";
import { familyOf, occurrenceId, stepWarnings, type Tracked } from "./life.ts";

const damp: Condition = {
  key: "dew-point-margin",
  rule: "dew-point-margin",
  urgency: "now",
  text: text("warn.dew-point-margin", { margin: { kelvin: 2 }, least: { kelvin: 3 } }),
  consequence: text("warn.dew-point-margin.else"),
  action: text("warn.dew-point-margin.do"),
  untilMs: null,
  coatId: null,
  carId: null,
};
const active = (tracked: Map<string, Tracked>) => tracked.get(damp.key)?.activeSinceMs ?? null;
const nothing = { begun: [], ended: [], isChanged: false };

describe("the life of a warning", () => {
  it("begins once its condition has held for 15 s and ends once it has not held for a minute", () => {
    const tracked = new Map<string, Tracked>();
    expect(stepWarnings(tracked, [damp], 0)).toEqual(nothing);
    expect(stepWarnings(tracked, [damp], 14_000)).toEqual(nothing);
    expect(stepWarnings(tracked, [damp], 15_000)).toEqual({ ...nothing, begun: [damp.key] });
    expect(active(tracked)).toBe(15_000);
    expect(stepWarnings(tracked, [], 60_000)).toEqual(nothing);
    expect(stepWarnings(tracked, [], 74_000)).toEqual(nothing);
    expect(stepWarnings(tracked, [], 75_000)).toEqual({ ...nothing, ended: [damp.key] });
    expect(active(tracked)).toBeNull();
  });

  it("does not begin when the condition breaks off before", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [damp], 0);
    stepWarnings(tracked, [], 10_000);
    stepWarnings(tracked, [damp], 12_000);
    expect(stepWarnings(tracked, [damp], 20_000).begun).toEqual([]);
  });

  it("does not end when the condition comes back in time", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [damp], 0);
    stepWarnings(tracked, [damp], 15_000);
    stepWarnings(tracked, [], 70_000);
    stepWarnings(tracked, [damp], 74_000);
    expect(stepWarnings(tracked, [], 90_000).ended).toEqual([]);
    expect(active(tracked)).toBe(15_000);
  });

  it("tells of a changed figure", () => {
    const tracked = new Map<string, Tracked>();
    stepWarnings(tracked, [damp], 0);
    stepWarnings(tracked, [damp], 15_000);
    expect(stepWarnings(tracked, [damp], 16_000).isChanged).toBe(false);
    const damper = { ...damp, text: text("warn.dew-point-margin", { margin: { kelvin: 1 }, least: { kelvin: 3 } }) };
    expect(stepWarnings(tracked, [damper], 17_000).isChanged).toBe(true);
  });

  it("goes on at once after a restart", () => {
    const tracked = new Map<string, Tracked>();
    expect(stepWarnings(tracked, [damp], 0, (key) => key === damp.key).begun).toEqual([damp.key]);
  });

  it("is named by place, condition and instant, so that one come back is another", () => {
    expect(occurrenceId("booth", "cold", 1)).toMatch(new RegExp(`^${familyOf("booth", "cold")}-1$`));
    expect(familyOf("booth", "cold")).not.toBe(familyOf("prep", "cold"));
    expect(occurrenceId("booth", "cold", 2)).not.toBe(occurrenceId("booth", "cold", 1));
  });
});
