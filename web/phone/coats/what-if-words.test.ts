import { describe, expect, it } from "vitest";
import type { WhatIfView } from "../../../predictor/serve/entries.ts";
import { minutes } from "../../parts/example-coat.ts";
import { exampleClock } from "../../parts/example-words.ts";
import { durationText, energyRows, missedText, percentText, stageAnswers } from "./what-if-words.ts";

const clock = exampleClock();
const now = minutes(0);
const iso = (after: number | null) => (after === null ? null : new Date(minutes(after)).toISOString());
type CoatAnswer = WhatIfView["coats"][number];
type Pair = [likely: number | null, safe: number | null];
const stage = (name: CoatAnswer["stages"][number]["stage"], stands: Pair, plan: Pair) => ({
  stage: name,
  asThingsStand: { likelyAt: iso(stands[0]), safeAt: iso(stands[1]) },
  plan: { likelyAt: iso(plan[0]), safeAt: iso(plan[1]) },
  safeEarlierMinutes: stands[1] === null || plan[1] === null ? null : stands[1] - plan[1],
});
const coat = (...stages: CoatAnswer["stages"]): CoatAnswer => ({
  id: "1",
  sheet: "Demo clear",
  panels: ["door"],
  nextStage: stages[0]?.stage ?? null,
  stages,
  percentAtPlanEnd: { asThingsStand: 45.4, plan: 78.2 },
  windowsMissed: [],
  notes: [],
});
const answers = (...stages: CoatAnswer["stages"]) => stageAnswers(coat(...stages), clock, now);

describe("stageAnswers", () => {
  it("sets the plan's times beside those as things stand, and says how much sooner it is safe", () => {
    expect(answers(stage("demask", [420, 460], [300, 320]))).toEqual([
      {
        stage: "Unmask",
        change: "2 h 20 min sooner",
        effect: "sooner",
        plan: "13:00 likely, 13:20 safe",
        asThingsStand: "15:00 likely, 15:40 safe",
      },
    ]);
  });
  it("carries the day when it is another day, and says later", () => {
    const [said] = answers(stage("demask", [420, 460], [1452, 1500]));
    expect(said).toMatchObject({
      plan: "Tue 08:12 likely, 09:00 safe",
      change: "17 h 20 min later",
      effect: "later",
    });
  });
  it("says where only one of them comes to a safe time, and where neither does", () => {
    expect(answers(stage("sand", [null, null], [60, 70]))[0]).toMatchObject({
      change: "only with this plan",
      effect: "sooner",
      asThingsStand: "no time in this air",
    });
    expect(answers(stage("sand", [60, 70], [80, null]))[0]).toMatchObject({
      change: "not safe with this plan",
      effect: "later",
      plan: "09:20 likely, no safe time",
    });
    expect(answers(stage("sand", [null, null], [null, null]))[0]).toMatchObject({
      change: "no change",
      effect: "same",
    });
  });
  it("does not call a change what is within a minute", () => {
    expect(answers(stage("sand", [60, 70], [60, 70]))[0]).toMatchObject({ change: "no change", effect: "same" });
    expect(answers(stage("sand", [60, 70], [60, 69.6]))[0]).toMatchObject({ change: "about the same", effect: "same" });
  });
  it("tells the next stage and two more, and nothing of those that are past", () => {
    const five = (["dust-free", "tack-free", "sand", "demask", "polish"] as const).map((name) =>
      stage(name, [60, 70], [60, 70]),
    );
    const said = stageAnswers({ ...coat(...five), nextStage: "tack-free" }, clock, now);
    expect(said.map((each) => each.stage)).toEqual(["Tack free", "Sand", "Unmask"]);
    expect(stageAnswers({ ...coat(...five), nextStage: null }, clock, now)).toEqual([]);
  });
  it("tells of full cure only where nothing else is left", () => {
    const last = stage("full-cure", [6000, 7000], [6000, 7000]);
    expect(answers(stage("polish", [60, 70], [60, 70]), last).map((each) => each.stage)).toEqual(["Polish"]);
    expect(answers(last).map((each) => each.stage)).toEqual(["Full cure"]);
  });
});

describe("durationText", () => {
  it("is in minutes, hours and minutes, or days", () => {
    expect([5, 60, 140, 2879, 4320].map((minutes) => durationText(minutes, clock.words))).toEqual([
      "5 min",
      "1 h",
      "2 h 20 min",
      "47 h 59 min",
      "3 days",
    ]);
  });
});

describe("percentText", () => {
  it("says how far the coat is when the plan has run, beside as things stand", () => {
    expect(percentText(coat(), { at: iso(222) ?? "", isPlan: true }, clock, now)).toBe(
      "78 % cured at 11:42, instead of 45 %.",
    );
  });
  it("says nothing where nothing tells, and where the plan makes no difference", () => {
    const same = { ...coat(), percentAtPlanEnd: { asThingsStand: 45.4, plan: 45.1 } };
    expect(percentText(same, { at: iso(222) ?? "", isPlan: false }, clock, now)).toMatch(/^\d+ % cured at 11:42\.$/);
    expect(percentText(same, { at: iso(222) ?? "", isPlan: true }, clock, now)).toBeNull();
    const bare = { ...coat(), percentAtPlanEnd: { asThingsStand: null, plan: null } };
    expect(percentText(bare, { at: iso(222) ?? "", isPlan: true }, clock, now)).toBeNull();
  });
});

describe("missedText", () => {
  it("says what must be done", () => {
    expect(missedText({ for: "next coat without sanding", ifMissed: "sand first" }, clock.words)).toBe(
      "Missed: next coat without sanding. Then sand first.",
    );
  });
});

describe("energyRows", () => {
  const figures = { heatKWh: 40, fuelKWh: 44.4, fansKWh: 4.6, cost: 5.8, co2Kg: 120.4 };
  const energy = {
    currency: "EUR",
    plan: figures,
    asThingsStand: { ...figures, fuelKWh: 0, fansKWh: 0 },
    conventionalBake: null,
    sources: [],
  };
  it("counts fuel and fans, and rounds to what the figures are worth", () => {
    expect(energyRows(energy, true, clock.words)).toEqual([
      { name: "This plan", figures: { energy: "49.0", cost: "5.80", co2: "120" }, why: expect.any(String) },
      {
        name: "As things stand",
        figures: { energy: "0", cost: "5.80", co2: "120" },
        why: expect.any(String),
      },
      { name: "Conventional bake", figures: null, why: "no place can bake" },
    ]);
  });
  it("has no row of its own for a plan without steps, and none at all where the shop says nothing of energy", () => {
    expect(energyRows(energy, false, clock.words).map(({ name }) => name)).toEqual([
      "As things stand",
      "Conventional bake",
    ]);
    expect(energyRows(null, true, clock.words)).toEqual([]);
  });
});
