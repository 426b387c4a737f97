/**
 * Six temperature histories with a closed form or a quadrature in 40 digits (mpmath, checked with scipy's DOP853):
 * derived, not published. R = 8.31446261815324 J/(mol·K), reference 20 °C.
 */
import { describe, expect, it } from "vitest";
import { climbOf, equivalentMinutes, type History } from "./held-history.ts";

const kelvinOf = (kJPerMol: number) => (kJPerMol * 1000) / 8.31446261815324;

interface Case {
  name: string;
  minutes: number;
  panelC: (minutes: number) => number;
  /** Where the temperature jumps, with its value just before. */
  jumps?: { at: number; before: number }[];
  /** Minutes at 20 °C by activation energy in kJ/mol. */
  worth: Record<40 | 50 | 60 | 70, number>;
  /** Conversion by a second-order reaction of 60 kJ/mol and 0.008 per minute at 20 °C. */
  secondOrder: number;
  /** Minutes at 20 °C at 50 kJ/mol when sampled every 1, 5, 15 min and even in between. */
  sampled: [number, number, number];
}

const cases: Case[] = [
  {
    name: "ramp",
    minutes: 240,
    panelC: (t) => 10 + (30 * t) / 240,
    worth: { 40: 346.8899521373, 50: 392.3603100099, 60: 448.6688915646, 70: 518.2419039303 },
    secondOrder: 0.782104273322,
    sampled: [392.3603100099125, 392.36031, 392.36031],
  },
  {
    name: "steps",
    minutes: 300,
    panelC: (t) => (t < 60 ? 15 : t < 180 ? 30 : 20),
    jumps: [
      { at: 60, before: 15 },
      { at: 180, before: 30 },
    ],
    worth: { 40: 371.3304940142, 50: 398.1122535667, 60: 429.4378647017, 70: 465.9203086962 },
    secondOrder: 0.7745464226776,
    sampled: [398.1166656095988, 398.134314, 398.178434],
  },
  {
    name: "sinusoid",
    minutes: 1440,
    panelC: (t) => 20 + 8 * Math.sin((2 * Math.PI * t) / 1440),
    worth: { 40: 1503.766051269, 50: 1542.924944228, 60: 1591.889358271, 70: 1651.075505141 },
    secondOrder: 0.927193910663,
    sampled: [1542.924614132539, 1542.91669, 1542.8507],
  },
  {
    name: "booth to workshop",
    minutes: 525,
    panelC: (t) => (t < 45 ? 24 : 12 + 12 * Math.exp(-(t - 45) / 25)),
    worth: { 40: 372.1939601124, 50: 344.7017139605, 60: 320.6624385955, 70: 299.7399693211 },
    secondOrder: 0.7195186554336,
    sampled: [344.7042325639523, 344.764597, 345.261731],
  },
  {
    name: "overnight cool-down",
    minutes: 840,
    panelC: (t) => 6 + 16 * Math.exp(-t / 180),
    worth: { 40: 466.414172543, 50: 407.0311974259, 60: 356.9705474408, 70: 314.7052304904 },
    secondOrder: 0.7406480527415,
    sampled: [407.0315620215122, 407.040312, 407.113207],
  },
  {
    name: "bake pulse",
    minutes: 180,
    panelC: (t) => (t < 15 ? 20 : t < 25 ? 20 + 4 * (t - 15) : t < 55 ? 60 : 20 + 40 * Math.exp(-(t - 55) / 15)),
    worth: { 40: 445.8504197901, 50: 625.8191748383, 60: 911.4257388982, 70: 1367.187979481 },
    secondOrder: 0.8793931920941,
    sampled: [625.8788137055162, 627.2958909335407, 566.6857020085599],
  },
];

/** Read every second, a jump as two readings at its instant. */
function closely({ minutes, panelC, jumps = [] }: Case): History {
  return Array.from({ length: minutes * 60 + 1 }, (_, i) => i / 60).flatMap((at) => {
    const jump = jumps.find((entry) => entry.at === at);
    const after = { minutes: at, panelC: panelC(at) };
    return jump ? [{ minutes: at, panelC: jump.before }, after] : [after];
  });
}

/** Sampled and even in between; the points halfway keep 15 min from counting as gaps and change nothing else. */
function sampledEvery(step: number, { minutes, panelC }: Case): History {
  return Array.from({ length: minutes / step + 1 }, (_, i) => i * step).flatMap((at) => {
    const here = { minutes: at, panelC: panelC(at) };
    return at === 0 ? [here] : [{ minutes: at - step / 2, panelC: (panelC(at - step) + panelC(at)) / 2 }, here];
  });
}

describe.each(cases)("history: $name", (history) => {
  it("is worth the derived minutes at 40, 50, 60 and 70 kJ/mol, read every second", () => {
    const readings = closely(history);
    for (const energy of [40, 50, 60, 70] as const) {
      expect(equivalentMinutes(readings, kelvinOf(energy)) / history.worth[energy] - 1).toBeCloseTo(0, 6);
    }
  });
  it("is worth what exact integration of the sampled line gives, sampled every 1, 5 and 15 min", () => {
    [1, 5, 15].forEach((step, index) => {
      const worth = equivalentMinutes(sampledEvery(step, history), kelvinOf(50));
      expect(Math.abs(worth / (history.sampled[index] as number) - 1)).toBeLessThan(1e-6);
    });
  });
  it("brings a second-order reaction to the derived conversion", () => {
    // one rung up to 95 % conversion, where 1/(1 − α) = 20 = 1 + k·t: full cure after 19/k minutes
    const climb = climbOf(closely(history), kelvinOf(60), 19 / 0.008);
    const { curePercent } = climb.outcome(history.minutes * 60_000);
    expect(((curePercent ?? Number.NaN) / 100) * 0.95).toBeCloseTo(history.secondOrder, 7);
  });
});
