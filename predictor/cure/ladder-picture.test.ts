import { describe, expect, it } from "vitest";
import { lnSaturation } from "../air/humidity.ts";
import { readSheet } from "./ladder.ts";
import { ladderPicture } from "./ladder-picture.ts";

const sheet = {
  ...{ id: "pictured", revision: 1, name: "Pictured", kind: "clearcoat", film: { dryUm: 50 } },
  stages: [
    { stage: "overcoat", minutesAtC: { 20: 12 }, by: "water" },
    { stage: "sand", minutesAtC: { 10: 80, 20: 40, 60: 20 }, curePercent: 55 },
  ],
  limits: { panelC: { min: 15 } },
  windows: [
    { for: "early", closesAfterMinutes: 60, ifMissed: "wait" },
    { for: "late", opensAt: "overcoat", closesAt: "sand", ifMissed: "sand it" },
    { for: "warm", closesAfterMinutes: 60, atC: 30, ifMissed: "wait" },
  ],
};

function pictureOf(input: object) {
  const read = readSheet(input);
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  return ladderPicture(read.sheet, read.ladder);
}

describe("the picture of a sheet", () => {
  const picture = pictureOf(sheet);
  const minutesAt = (stage: number, tempC: number) => picture.stages[stage]?.minutes[picture.atC.indexOf(tempC)] ?? 0;

  it("goes through what the sheet prints, from the coldest drawn to the warmest, and says what it covers", () => {
    expect([picture.atC[0], picture.atC.at(-1)]).toEqual([5, 67]);
    expect(picture.coversC).toEqual({ from: 15, to: 62 });
    expect([minutesAt(0, 20), minutesAt(1, 20)]).toEqual([expect.closeTo(12, 9), expect.closeTo(40, 6)]);
    // Nothing but reaction: the curve goes through each printed time.
    const sanded = pictureOf({ ...sheet, stages: sheet.stages.slice(1), windows: [] });
    for (const { tempC, minutes } of sanded.stages[0]?.anchors ?? []) {
      expect(sanded.stages[0]?.minutes[sanded.atC.indexOf(tempC)]).toBeCloseTo(minutes, 6);
    }
    expect(sanded.stages[0]?.anchors).toHaveLength(3);
  });

  it("follows the vapour pressure where a stage waits for water", () => {
    expect(minutesAt(0, 30)).toBeCloseTo(12 * Math.exp(lnSaturation(20) - lnSaturation(30)), 9);
  });

  it("tells what is printed from what is usual, and slopes as activation energies", () => {
    expect(
      picture.stages.map(({ stage, isPrinted, isPercentPrinted }) => [stage, isPrinted, isPercentPrinted]),
    ).toEqual([
      ["overcoat", true, false],
      ["sand", true, true],
      ["full-cure", false, false],
    ]);
    const [first, second] = picture.stages[1]?.energies ?? [];
    // ln 2 · R / (1/283.15 K − 1/293.15 K), and the same from 20 to 60 °C.
    expect(first?.kJ).toBeCloseTo((Math.LN2 * 8.314462618) / (1 / 283.15 - 1 / 293.15) / 1000, 9);
    expect(second).toMatchObject({ fromC: 20, toC: 60 });
    expect(picture.stages[0]?.energies).toEqual([]);
  });

  it("tells its windows at 20 °C", () => {
    expect(picture.reference.tempC).toBe(20);
    expect(picture.windows.map(({ opensMinutes, closesMinutes }) => [opensMinutes, closesMinutes])).toEqual([
      [0, 60],
      [expect.closeTo(12, 9), expect.closeTo(40, 6)],
      // 50 kJ/mol, from 30 °C to 20 °C.
      [0, expect.closeTo(60 * Math.exp((50_000 / 8.314462618) * (1 / 293.15 - 1 / 303.15)), 6)],
    ]);
  });

  it("has no minutes where glass holds the cure up for more than a year", () => {
    const kinetics = {
      ...{ model: "nth-order", reaction: { preExponentialPerSecond: 5e5, activationEnergyKJ: 55 }, order: 1 },
      validC: { min: 10, max: 60 },
      glass: { tgUncuredC: -40, tgCuredC: 90, lambda: 0.35, diffusionAtTgPerSecond: 1e-6 },
    };
    const { stages, atC } = pictureOf({
      ...sheet,
      stages: [{ stage: "sand", curePercent: 40 }],
      kinetics,
      windows: [],
    });
    const full = stages.at(-1)?.minutes ?? [];
    expect(stages[0]?.by).toBeNull();
    expect(full[atC.indexOf(10)]).toBeNull();
    expect(stages[0]?.minutes[atC.indexOf(60)]).toBeGreaterThan(0);
  });
});
