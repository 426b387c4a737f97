import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { ofPlace, type Standing } from "./condition.ts";
import { familyOf, type Known, occurrenceId, stepWarnings, type Tracked } from "./life.ts";

const damp: Standing = {
  ...ofPlace,
  key: "booth/dew-point-margin",
  rule: "dew-point-margin",
  urgency: "now",
  text: text("warn.dew-point-margin", { margin: { kelvin: 2 }, least: { kelvin: 3 } }),
  consequence: text("warn.dew-point-margin.else"),
  action: text("warn.dew-point-margin.do"),
  place: "booth",
  alsoAt: ["prep"],
};
const closing: Standing = {
  ...damp,
  key: "window-closing/c1",
  rule: "window-closing",
  subject: "c1",
  alsoAt: [],
};
const nothing = { begun: [], ended: [], places: new Set() };
const unknown: Known = { isSaid: () => false, isAnswered: () => false, isThere: () => true };

/** Steps through instants in seconds. */
function life(known: Partial<Known> = {}) {
  const tracked = new Map<string, Tracked>();
  const step = (second: number, ...conditions: Standing[]) =>
    stepWarnings(tracked, conditions, second * 1000, { ...unknown, ...known });
  const since = () => tracked.get(damp.key)?.activeSinceMs ?? null;
  return { step, since };
}

describe("the life of a warning", () => {
  it("begins once its condition has held for 15 s and ends once it has not held for a minute, wherever it shows", () => {
    const { step, since } = life();
    const places = new Set(["booth", "prep"]);
    expect(step(0, damp)).toEqual(nothing);
    expect(step(14, damp)).toEqual(nothing);
    expect(step(15, damp)).toEqual({ begun: [damp], ended: [], places });
    expect(since()).toBe(15_000);
    expect(step(60)).toEqual(nothing);
    expect(step(74)).toEqual(nothing);
    expect(step(75)).toEqual({ begun: [], ended: [damp], places });
    expect(since()).toBeNull();
  });

  it("does not begin when the condition breaks off before", () => {
    const { step } = life();
    step(0, damp);
    step(10);
    step(12, damp);
    expect(step(20, damp).begun).toEqual([]);
  });

  it("does not end when the condition comes back in time", () => {
    const { step, since } = life();
    step(0, damp);
    step(15, damp);
    step(70);
    step(74, damp);
    expect(step(90).ended).toEqual([]);
    expect(since()).toBe(15_000);
  });

  it("that was answered is the same one when its fact is back within five minutes", () => {
    const { step } = life({ isAnswered: () => true });
    step(0, damp);
    step(15, damp);
    expect(step(314).ended).toEqual([]);
    expect(step(314, damp).begun).toEqual([]);
    expect(step(613).ended).toEqual([]);
    expect(step(614).ended).toEqual([damp]);
  });

  it("is over at once when its coat is gone, or another takes its place", () => {
    const gone = life({ isThere: () => false });
    gone.step(0, closing);
    expect(gone.step(2).ended).toEqual([closing]);
    const { step } = life();
    const missed: Standing = { ...closing, key: "window-missed/c1", rule: "window-missed", replaces: closing.key };
    step(0, closing);
    expect(step(2).ended).toEqual([]);
    expect(step(4, missed)).toMatchObject({ begun: [missed], ended: [closing] });
  });

  it("tells of a changed figure, and both places when it has moved", () => {
    const { step } = life();
    step(0, damp);
    step(15, damp);
    expect(step(16, damp)).toEqual(nothing);
    const damper = { ...damp, text: text("warn.dew-point-margin", { margin: { kelvin: 1 }, least: { kelvin: 3 } }) };
    expect(step(17, damper).places).toEqual(new Set(["booth", "prep"]));
    expect(step(18, { ...damper, place: "yard", alsoAt: [] }).places).toEqual(new Set(["booth", "prep", "yard"]));
  });

  it("goes on at once after a restart", () => {
    expect(life({ isSaid: (key) => key === damp.key }).step(0, damp).begun).toEqual([damp]);
  });

  it("is named by its fact and instant, so that one come back is another", () => {
    expect(occurrenceId("booth/cold", 1)).toMatch(new RegExp(`^${familyOf("booth/cold")}-1$`));
    expect(familyOf("booth/cold")).not.toBe(familyOf("prep/cold"));
    expect(occurrenceId("booth/cold", 2)).not.toBe(occurrenceId("booth/cold", 1));
  });
});
