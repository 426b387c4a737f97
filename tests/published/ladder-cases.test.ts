/** Whole cases through the batch form against a separate program's answers: derived, not published (see the data's origin). */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { runCase } from "../../predictor/cure/case.ts";

interface LadderCase {
  name: string;
  columns: string[];
  rows: (string | number)[][];
  expected: {
    curePercent: number;
    equivalentMinutes: number;
    stages: { stage: string; likelyMinutes: number; safeMinutes: number }[];
  };
  [key: string]: unknown;
}

const file = new URL("data/ladder-cases.json", import.meta.url);
const { cases } = JSON.parse(readFileSync(file, "utf8")) as { cases: LadderCase[] };

const closeTo = (found: number | null | undefined, expected: number) => {
  const off = Math.abs((found ?? Number.NaN) - expected);
  return off <= 0.001 || off <= 1e-5 * expected;
};

describe.each(cases)("$name", ({ columns, rows, expected, ...input }) => {
  const readings = rows.map((row) => Object.fromEntries(columns.map((column, index) => [column, row[index]])));
  const answer = runCase({ ...input, readings });
  if ("faults" in answer) throw new Error(JSON.stringify(answer.faults));
  const { result } = answer;

  it("has every likely and safe time within 1e-5 or 0.001 min", () => {
    expect(result.stages.map(({ stage }) => stage)).toEqual(expected.stages.map(({ stage }) => stage));
    for (const [index, stage] of expected.stages.entries()) {
      const found = result.stages[index];
      expect([stage.stage, "likely", closeTo(found?.likelyMinutes, stage.likelyMinutes)]).toEqual([
        stage.stage,
        "likely",
        true,
      ]);
      expect([stage.stage, "safe", closeTo(found?.safeMinutes, stage.safeMinutes)]).toEqual([
        stage.stage,
        "safe",
        true,
      ]);
    }
  });
  it("has the percentage within 1e-4 and the equivalent age within 1e-5 or 0.001 min", () => {
    expect(Math.abs((result.curePercent ?? Number.NaN) - expected.curePercent)).toBeLessThan(1e-4);
    expect(closeTo(result.equivalentMinutes, expected.equivalentMinutes)).toBe(true);
  });
});
