import { describe, expect, it } from "vitest";
import { hour, minute, toyCoat } from "./example-plan.ts";
import { readyBy, startBy } from "./start-by.ts";

const question = {
  outcomeOf: (finishedAtMs: number) => toyCoat(finishedAtMs).outcome(finishedAtMs),
  stage: "sand" as const,
  nowMs: 0,
};
const minutesOf = ({ likelyFinishAtMs, safeFinishAtMs }: ReturnType<typeof startBy>) =>
  [likelyFinishAtMs, safeFinishAtMs].map((atMs) => (atMs === null ? null : atMs / minute));

describe("ready by", () => {
  it("is ready when safe, to be checked when likely, and else not", () => {
    const outcome = toyCoat().outcome(0);
    const readiness = [59, 60, 74, 75].map((minutes) => readyBy(outcome, "sand", minutes * minute));
    expect(readiness).toEqual(["not today", "check first", "check first", "ready"]);
  });
  it("is not for a stage without a time, and not asked for a stage of another sheet", () => {
    const outcome = toyCoat().outcome(0);
    const never = {
      ...outcome,
      stages: outcome.stages.map((stage) => ({ ...stage, likelyAtMs: null, safeAtMs: null })),
    };
    expect(readyBy(never, "sand", Number.MAX_VALUE)).toBe("not today");
    expect(() => readyBy(outcome, "polish", 0)).toThrow("expected a stage of the sheet (overcoat, sand, full-cure)");
  });
});

describe("start by", () => {
  it("is the latest minute with which the stage is in time: sanding takes 60 min, 75 to be safe", () => {
    expect(minutesOf(startBy({ ...question, byMs: 3 * hour }))).toEqual([120, 105]);
    expect(minutesOf(startBy({ ...question, byMs: 177.5 * minute }))).toEqual([117, 102]);
    expect(minutesOf(startBy({ ...question, byMs: 60 * minute }))).toEqual([0, null]);
  });
  it("is not today when even now is too late", () => {
    expect(minutesOf(startBy({ ...question, byMs: 59 * minute }))).toEqual([null, null]);
    expect(minutesOf(startBy({ ...question, byMs: 0 }))).toEqual([null, null]);
  });
  it("is the latest that works where the heating comes on and finishing now is too early", () => {
    // Finished in the cold it never gets warm enough in time; in the hour after the heating came on it does.
    const outcomeOf = (finishedAtMs: number) => {
      const outcome = toyCoat(finishedAtMs).outcome(finishedAtMs);
      const isCold = finishedAtMs < hour;
      return isCold
        ? { ...outcome, stages: outcome.stages.map((stage) => ({ ...stage, likelyAtMs: null, safeAtMs: null })) }
        : outcome;
    };
    expect(startBy({ ...question, outcomeOf, byMs: 131 * minute }).likelyFinishAtMs).toBe(71 * minute);
    expect(startBy({ ...question, outcomeOf, byMs: 119 * minute }).likelyFinishAtMs).toBeNull();
  });
  it("asks for each finish once, every fifth minute at first", () => {
    const asked: number[] = [];
    const outcomeOf = (finishedAtMs: number) => {
      asked.push(finishedAtMs / minute);
      return question.outcomeOf(finishedAtMs);
    };
    startBy({ ...question, outcomeOf, byMs: 3 * hour });
    expect(new Set(asked).size).toBe(asked.length);
    expect(asked.length).toBeLessThan(30);
  });
  it("does not look back, nor further ahead than a week", () => {
    for (const byMs of [-1, 8 * 24 * hour, Number.NaN]) {
      expect(() => startBy({ ...question, byMs })).toThrow("within a week");
    }
  });
});
