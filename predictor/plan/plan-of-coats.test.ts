/** Plans with coats that the cure model climbs. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { ClimateReading, CoatSetup } from "../cure/climb.ts";
import { CoatClimb } from "../cure/coat-climb.ts";
import { buildLadder } from "../cure/ladder.ts";
import { hour, minute, sheetWith, steady } from "./example-plan.ts";
import { freshOutcome } from "./fresh-coat.ts";
import { planAhead } from "./plan-ahead.ts";
import type { PlanStep } from "./plan-step.ts";
import { startBy } from "./start-by.ts";
import { type WhatIf, whatIf } from "./what-if.ts";

const sheet = sheetWith({
  stages: [
    { stage: "overcoat", minutesAtC: { 20: 15, 60: 3 } },
    { stage: "sand", minutesAtC: { 10: 150, 20: 75, 60: 9 } },
    { stage: "full-cure", minutesAtC: { 20: 8640 } },
  ],
  windows: [{ for: "basecoat", opensAt: "overcoat", closesAfterMinutes: 240, ifMissed: "sand" }],
});
const setup: Omit<CoatSetup, "finishedAtMs"> = { ladder: buildLadder(sheet), substrate: "steel" };
const nowMs = 5 * minute;
const present: ClimateReading = { atMs: nowMs, airC: 20, rhPercent: 50, panelC: 20, airSpeedMps: 0.2 };
const climb = new CoatClimb({ ...setup, finishedAtMs: 0 });
climb.append({ ...present, atMs: 0 });
climb.append(present);

const coolingFrom = (offAtMs: number) => [{ atMs: offAtMs + 4 * hour, airC: 8, coldC: 5 }];
const places = {
  booth: steady(20, { nowMs, panelC: 20, airSpeedMps: 0.2, coolingFrom }),
  workshop: steady(17, { nowMs, panelC: 16, hours: [{ atMs: 6 * hour, airC: 13, coldC: 10 }] }),
  yard: steady(6, { nowMs, airSpeedMps: 1, hours: [{ atMs: 6 * hour, airC: 2, coldC: -1 }] }),
};
const start = { place: "booth", nowMs };
const ask = (...steps: PlanStep[]): WhatIf => {
  const answer = whatIf({ coats: [{ id: "door", climb, sheet, finishedAtMs: 0 }], start, places, steps });
  if ("faults" in answer) throw new Error(JSON.stringify(answer.faults));
  return answer;
};
const minutesTo = (answer: WhatIf, stage: string) => {
  const plan = answer.coats[0]?.stages.find((each) => each.stage === stage)?.plan;
  return { likely: (plan?.likelyAtMs ?? Infinity) / minute, safe: (plan?.safeAtMs ?? Infinity) / minute };
};
const bake = (bakeC: number, minutes: number, atMinutes = 10): PlanStep => ({
  kind: "bake",
  atMs: atMinutes * minute,
  bakeC,
  minutes,
});

describe("a coat under a plan", () => {
  it("takes the sheet's time at the bake's temperature once the panel has come up to it", () => {
    // At 20 °C until the bake sets in at 10 min, with the steel coming up by a lag of under 3 min.
    const { likely } = minutesTo(ask(bake(60, 30)), "sand");
    const share = 10 / 75;
    const withoutLag = 10 + (1 - share) * 9;
    expect(likely).toBeGreaterThan(withoutLag);
    expect(likely).toBeLessThan(withoutLag + 6);
  });
  it("goes on as it was when nothing is planned, as the climb says by itself in steady air", () => {
    const [door] = ask().coats;
    const own = climb.outcome(nowMs).stages;
    expect(door?.stages.map(({ plan }) => plan.likelyAtMs)).toEqual(own.map(({ likelyAtMs }) => likelyAtMs));
    expect(door?.stages.map(({ safeEarlierMinutes }) => safeEarlierMinutes)).toEqual([0, 0, 0]);
  });
  it("is safe later where the cold edge of the forecast is colder", () => {
    const inYard: PlanStep = { kind: "move", atMs: nowMs, place: "yard" };
    const ahead = planAhead([inYard], start, places);
    const safeAtMs = (more: object) => climb.outcome(nowMs, { likely: ahead.likely, ...more }).stages[1]?.safeAtMs ?? 0;
    expect(safeAtMs({ cold: ahead.cold })).toBeGreaterThan(safeAtMs({}) + 2 * minute);
  });
  it("is later when the heating goes off", () => {
    const off = ask({ kind: "heating-off", atMs: nowMs });
    expect(minutesTo(off, "sand").likely).toBeGreaterThan(minutesTo(ask(), "sand").likely + 5);
  });

  const anyBake = fc.tuple(fc.integer({ min: 30, max: 80 }), fc.integer({ min: 1, max: 120 }));
  const anyMove = fc.record({
    kind: fc.constant("move" as const),
    atMs: fc.integer({ min: 5, max: 600 }).map((at) => at * minute),
    place: fc.constantFrom("booth", "workshop", "yard"),
  });
  it("is never later, likely nor safe, for a warmer or a longer bake", () => {
    fc.assert(
      fc.property(anyBake, fc.integer({ min: 1, max: 10 }), ([bakeC, minutes], more) => {
        const plain = ask(bake(bakeC, minutes));
        for (const better of [ask(bake(bakeC + more, minutes)), ask(bake(bakeC, minutes + more))]) {
          for (const { stage } of sheet.stages) {
            const [now, before] = [minutesTo(better, stage), minutesTo(plain, stage)];
            expect(now.likely).toBeLessThanOrEqual(before.likely + 1e-4);
            expect(now.safe).toBeLessThanOrEqual(before.safe + 1e-4);
          }
        }
      }),
      { numRuns: 60 },
    );
  });
  it("is never safe before it is likely, and keeps the order of its stages, whatever is planned", () => {
    fc.assert(
      fc.property(anyBake, fc.array(anyMove, { maxLength: 5 }), ([bakeC, minutes], moves) => {
        const answer = ask(...moves, bake(bakeC, minutes, 601));
        let before = 0;
        for (const { stage } of sheet.stages) {
          const { likely, safe } = minutesTo(answer, stage);
          expect(safe).toBeGreaterThanOrEqual(likely);
          expect(likely).toBeGreaterThanOrEqual(before);
          before = likely;
        }
      }),
      { numRuns: 60 },
    );
  });
  it("is not changed by a further move to where it stands by then", () => {
    fc.assert(
      fc.property(anyMove, fc.integer({ min: 1, max: 600 }), (move, later) => {
        const again = { ...move, atMs: move.atMs + later * minute };
        expect(ask(move, again).coats[0]?.stages).toEqual(ask(move).coats[0]?.stages);
      }),
      { numRuns: 30 },
    );
  });
});

describe("a next coat in a plan", () => {
  const nextAt = (atMinutes: number, ...steps: PlanStep[]) =>
    ask(...steps, { kind: "next-coat", atMs: atMinutes * minute, coat: setup }).nextCoat;

  it("is judged by the coat below and climbs from its own finish", () => {
    expect(nextAt(10)).toMatchObject({ state: "too early", onto: "door" });
    expect(nextAt(16)?.state).toBe("check first");
    expect(nextAt(245)).toMatchObject({ state: "too late", mustBeDone: ["sand"] });
    const after = nextAt(60);
    expect(after).toMatchObject({ state: "in its window", for: "basecoat" });
    expect(after?.stages.map(({ likelyMinutes }) => likelyMinutes)).toEqual([
      expect.closeTo(15, 6),
      expect.closeTo(75, 6),
      expect.closeTo(8640, 4),
    ]);
  });
  it("begins at the temperature that the panel below has by then", () => {
    const cool = nextAt(60)?.stages[0]?.likelyMinutes ?? Number.NaN;
    const warm = nextAt(60, bake(60, 20, 40))?.stages[0]?.likelyMinutes ?? Number.NaN;
    expect(warm).toBeLessThan(cool - 2);
  });
  it("goes through the rest of the plan", () => {
    const baked = nextAt(60, bake(60, 30, 70))?.stages[1]?.likelyAtMs ?? Number.NaN;
    expect(baked / minute).toBeGreaterThan(70);
    expect(baked / minute).toBeLessThan(85);
  });
  it("is refused during a bake, twice in a plan, and onto a coat that is not asked about", () => {
    expect(() => nextAt(20, bake(60, 30))).toThrow("steps.1.atMs");
    expect(() => nextAt(20, { kind: "next-coat", atMs: nowMs, coat: setup })).toThrow("plan-fault.one-next-coat");
    expect(() => ask({ kind: "next-coat", atMs: nowMs, coat: setup, onto: "hood" })).toThrow('"names":["door"]');
  });
});

describe("a coat to be finished", () => {
  const outcomeOf = (place: keyof typeof places) => (finishedAtMs: number) =>
    freshOutcome(setup, planAhead([], { place, nowMs }, places), finishedAtMs);
  it("comes to the same as one whose readings have come in, in steady air", () => {
    const climbed = new CoatClimb({ ...setup, finishedAtMs: hour });
    for (let atMs = hour; atMs <= 2 * hour; atMs += 5 * minute) climbed.append({ ...present, atMs });
    const fresh = outcomeOf("booth")(hour).stages.map(({ likelyAtMs }) => likelyAtMs);
    expect(fresh).toEqual(climbed.outcome(hour).stages.map(({ likelyAtMs }) => likelyAtMs));
  });
  it("must be finished earlier in the colder place, and is then just in time", () => {
    const finishIn = (place: keyof typeof places) =>
      startBy({ outcomeOf: outcomeOf(place), stage: "sand", byMs: 8 * hour, nowMs });
    const booth = finishIn("booth");
    expect((booth.likelyFinishAtMs ?? 0) / minute).toBe(8 * 60 - 75);
    expect(booth.safeFinishAtMs ?? Infinity).toBeLessThan(booth.likelyFinishAtMs ?? 0);
    const workshop = finishIn("workshop");
    expect(workshop.likelyFinishAtMs ?? Infinity).toBeLessThan((booth.likelyFinishAtMs ?? 0) - 20 * minute);
    const safeAt = (atMs: number) => outcomeOf("workshop")(atMs).stages[1]?.safeAtMs ?? Infinity;
    const latest = workshop.safeFinishAtMs ?? Number.NaN;
    expect(safeAt(latest)).toBeLessThanOrEqual(8 * hour);
    expect(safeAt(latest + minute)).toBeGreaterThan(8 * hour);
  });
});
