/**
 * What 20 checks teach, tried on invented shops whose true factor is known. Nothing here is published: the truth is
 * reckoned by its own few lines below, from the assumptions that docs/model.md states, and every expected band is
 * derived. What the model is asked for goes through `CoatClimb` and `learn` as in a shop.
 */
import { describe, expect, it } from "vitest";
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { readSheet } from "../../predictor/cure/ladder.ts";
import { type CheckFinding, type Lesson, learn } from "../../predictor/cure/learning.ts";

const sheet = { minutesAt20C: 40, activationJPerMol: 50_000 };
/** How far in ln(time) a person scatters in telling ready from not yet, and how far a panel sensor is off. */
const personSigma = 0.12;
const sensorSigmaC = 0.3;
/** He looks about when the screen says likely, a tenth early or late; and where it is not yet, again a tenth later. */
const lookSigma = 0.1;
const laterShare = 1.1;
const checks = 20;
/** He looks at the screen's times anew after every fifth check. */
const newLookEvery = 5;
const coatsAfter = 4;
const shopsEach = 200;

/** The truth: minutes by Arrhenius at a constant panel temperature, in a shop with this factor on all rates. */
function trueMinutes(panelC: number, factor: number): number {
  const inverseK = 1 / (panelC + 273.15) - 1 / 293.15;
  return (sheet.minutesAt20C * Math.exp((sheet.activationJPerMol / 8.314462618) * inverseK)) / factor;
}

interface Chance {
  /** Evenly from 0 to below 1: the mulberry32 generator, public domain. */
  even: () => number;
  /** Standard normal, after Box and Muller (1958). */
  normal: () => number;
}

function chanceFrom(seed: number): Chance {
  let state = seed;
  const even = () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  return { even, normal: () => Math.sqrt(-2 * Math.log(1 - even())) * Math.cos(2 * Math.PI * even()) };
}

const read = readSheet({
  id: "invented",
  revision: 1,
  name: "Invented",
  invented: true,
  kind: "clearcoat",
  film: { dryUm: 50 },
  activationEnergyKJ: sheet.activationJPerMol / 1000,
  stages: [{ stage: "demask", minutesAtC: { "20": sheet.minutesAt20C } }],
});
if ("faults" in read) throw new Error(JSON.stringify(read.faults));
const { ladder } = read;

/** A coat as the model sees it: by a sensor that is off, with what the lesson says. */
function climbOf(sensorC: number, lesson?: Lesson): CoatClimb {
  const taught = lesson && {
    rateFactor: Math.exp(lesson.lnFactor),
    safeRateFactor: Math.exp(lesson.lnSafeFactor),
    sheetSigma: lesson.sigma,
  };
  const climb = new CoatClimb({ ladder, finishedAtMs: 0, substrate: "steel", ...taught });
  climb.append({ atMs: 0, airC: sensorC, rhPercent: 50, panelC: sensorC });
  return climb;
}

/** A shop's lesson from 20 checks on coats at 12 to 28 °C. */
function taughtIn(factor: number, { even, normal }: Chance): Lesson {
  const findings: CheckFinding[] = [];
  let lesson = learn(findings);
  while (findings.length < checks) {
    const panelC = 12 + 16 * even();
    const climb = climbOf(panelC + sensorSigmaC * normal());
    const likely = (climb.outcome(0).stages[0]?.likelyMinutes ?? Number.NaN) * Math.exp(-lesson.lnFactor);
    let minutes = likely * Math.exp(lookSigma * normal());
    let ready = false;
    while (!ready && findings.length < checks) {
      ready = Math.log(minutes) + personSigma * normal() > Math.log(trueMinutes(panelC, factor));
      findings.push({ lnFactor: climb.lnFactorReaching("demask", minutes * 60_000) ?? Number.NaN, ready });
      minutes *= laterShare;
      if (findings.length % newLookEvery === 0) lesson = learn(findings);
    }
  }
  return lesson;
}

interface Tried {
  /** Mean over shops of likely ÷ true, both at one and the same temperature, less 1; of its size; its share within 5 %. */
  meanOff: number;
  meanSize: number;
  within5Percent: number;
  /** Share of the coats after the checks that were ready by their safe time. */
  covered: number;
}

function tryShops(factors: number[], seed: number): Tried {
  const chance = chanceFrom(seed);
  const offs: number[] = [];
  let covered = 0;
  for (const factor of factors) {
    const lesson = taughtIn(factor, chance);
    offs.push(factor / Math.exp(lesson.lnFactor) - 1);
    for (let coat = 0; coat < coatsAfter; coat++) {
      const panelC = 12 + 16 * chance.even();
      const climb = climbOf(panelC + sensorSigmaC * chance.normal(), lesson);
      if ((climb.outcome(0).stages[0]?.safeMinutes ?? Number.NaN) >= trueMinutes(panelC, factor)) covered++;
    }
  }
  const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  return {
    meanOff: mean(offs),
    meanSize: mean(offs.map(Math.abs)),
    within5Percent: mean(offs.map((off) => (Math.abs(off) <= 0.05 ? 1 : 0))),
    covered: covered / (factors.length * coatsAfter),
  };
}

describe("after 20 checks", () => {
  const tried = new Map<number, Tried>();
  const of = (factor: number): Tried => {
    const found = tried.get(factor) ?? tryShops(Array(shopsEach).fill(factor), 1);
    tried.set(factor, found);
    return found;
  };

  it.each([0.8, 1.25])("at a true factor of %d the likely time is on average within 5 % of the truth", (factor) => {
    expect(Math.abs(of(factor).meanOff)).toBeLessThan(0.05);
    expect(of(factor).meanSize).toBeLessThan(0.05);
  });
  it.each([0.8, 1.25])("at a true factor of %d it is so in about four shops of five, not in all", (factor) => {
    expect(of(factor).within5Percent).toBeGreaterThan(0.7);
    expect(of(factor).within5Percent).toBeLessThan(0.9);
  });
  it("the lesson still leans to the sheet: early by a percent or two in a slow shop, late in a fast one", () => {
    expect(of(0.8).meanOff).toBeLessThan(-0.003);
    expect(of(0.8).meanOff).toBeGreaterThan(-0.025);
    expect(of(1.25).meanOff).toBeGreaterThan(0.003);
    expect(of(1.25).meanOff).toBeLessThan(0.03);
  });
  // With 2,500 shops each: 89.7 % where everything takes a quarter longer than on the sheet, 88.5 % where it takes a
  // fifth less. Had safe gone by the mean itself, which leans to the sheet, it would be 85.0 and 95.2 %.
  it.each([0.8, 1.25])("at a true factor of %d safe keeps its nine in ten within 85 to 95 %", (factor) => {
    expect(of(factor).covered).toBeGreaterThan(0.85);
    expect(of(factor).covered).toBeLessThan(0.95);
  });
  it("safe keeps its nine in ten within 85 to 95 % over shops that scatter as the model supposes", () => {
    const { even, normal } = chanceFrom(2);
    const factors = Array.from({ length: 120 }, () => Math.exp(0.15 * normal()));
    const { covered } = tryShops(factors, Math.floor(even() * 1e6));
    expect(covered).toBeGreaterThan(0.85);
    expect(covered).toBeLessThan(0.95);
  });
});
