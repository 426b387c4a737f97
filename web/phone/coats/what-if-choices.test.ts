import { describe, expect, it } from "vitest";
import type { CarView, Place } from "../../../predictor/serve/api.ts";
import { whatIfQuestionSchema } from "../../../predictor/serve/entries.ts";
import { exampleClock } from "../../parts/example-words.ts";
import { whatIfChoices } from "./what-if-choices.ts";

const booth: Place = { id: "booth", name: "Booth", kind: "booth" };
const workshop: Place = { id: "workshop", name: "Workshop", kind: "workshop" };
const yard: Place = { id: "yard", name: "Yard", kind: "yard" };
const mixing: Place = { id: "mixing", name: "Mixing room", kind: "mixing" };
const places = [booth, workshop, yard, mixing];
const at = "2026-03-02T08:00:00.000Z";
const car = (place: Place | null): CarView => ({
  id: "car-1",
  job: "J-1",
  name: "Blue hatch",
  colour: null,
  promisedAt: null,
  moves: [],
  place,
  since: at,
  panels: [],
  coats: [],
});
const choices = (place: Place | null, unit: "C" | "F" = "C") =>
  whatIfChoices(car(place), places, unit, exampleClock().words);
const texts = (place: Place | null, unit: "C" | "F" = "C") => choices(place, unit).map(({ text }) => text);

describe("whatIfChoices", () => {
  it("offers every other place but the mixing room, a bake where the car stands, no heating, and leaving it", () => {
    expect(texts(booth)).toEqual([
      "Move to Workshop",
      "Move to Yard",
      "Bake 60\u00a0°C, 30\u00a0min",
      "Heating off now",
      "Leave it overnight",
    ]);
  });
  it("looks at the next morning by the shop's clock when everything is left overnight", () => {
    const until = (now: string) =>
      choices(booth)
        .find(({ id }) => id === "overnight")
        ?.until?.(Date.parse(now), { offsetMs: () => 3_600_000 });
    expect(until("2026-03-02T16:00:00Z")).toBe("2026-03-03T06:00:00.000Z");
    expect(until("2026-03-02T23:30:00Z")).toBe("2026-03-03T06:00:00.000Z");
    expect(until("2026-03-03T06:00:00Z")).toBe("2026-03-04T06:00:00.000Z");
  });
  it("offers the bake in a booth to a car that stands where none is baked", () => {
    expect(texts(workshop)).toContain("Bake in Booth, 60\u00a0°C, 30\u00a0min");
    expect(
      choices(workshop)
        .find(({ id }) => id === "bake-booth")
        ?.steps(at),
    ).toEqual([
      { kind: "move", at, place: "booth" },
      { kind: "bake", at, bakeC: 60, minutes: 30 },
    ]);
  });
  it("has no heating to turn off outdoors or for a car without a place", () => {
    expect(texts(yard)).not.toContain("Heating off now");
    expect(texts(null)).toEqual([
      "Move to Booth",
      "Move to Workshop",
      "Move to Yard",
      "Bake in Booth, 60\u00a0°C, 30\u00a0min",
      "Leave it overnight",
    ]);
  });
  it("writes the bake in the shop's unit and asks for it in °C", () => {
    expect(texts(booth, "F")).toContain("Bake 140\u00a0°F, 30\u00a0min");
    expect(
      choices(booth, "F")
        .find(({ id }) => id === "bake")
        ?.steps(at),
    ).toEqual([{ kind: "bake", at, bakeC: 60, minutes: 30 }]);
  });
  it("asks only what the predictor understands", () => {
    for (const place of [booth, workshop, yard, null]) {
      for (const choice of choices(place)) {
        expect(whatIfQuestionSchema.safeParse({ car: "car-1", steps: choice.steps(at) }).success).toBe(true);
      }
    }
  });
});
