/** The whole cure model over a week and a year of readings, beside the plainest integral that could be asked for. */
import type { ClimateReading } from "../../predictor/cure/climb.ts";
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { type Ladder, readSheet } from "../../predictor/cure/ladder.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const readingsPerDay = 8640;
const week = 7 * readingsPerDay;
const runs = 21;
const finishedAtMs = Date.UTC(2026, 1, 2);

interface Climate {
  airC: Float64Array;
  rhPercent: Float64Array;
  panelC: Float64Array;
}

export function integralBench(): BenchRow[] {
  const climate = inventedClimate(week);
  const floor: number[] = [];
  const measured: number[] = [];
  const estimated: number[] = [];
  for (let run = 0; run < runs; run++) {
    floor.push(millisecondsOf(() => plainIntegral(climate.panelC)));
    measured.push(millisecondsOf(() => climbThrough(climate, week, true)));
    estimated.push(millisecondsOf(() => climbThrough(climate, week, false)));
  }
  const floorMs = median(floor);
  const plain = { floor: "one Arrhenius integral, two Gauss points a reading", floorValue: floorMs, unit: "ms" };
  const { dayNs, monthNs, yearNs } = nanosecondsAReading();
  const yearMs = median([1, 2, 3].map(() => millisecondsOf(() => climbThrough(climate, 365 * readingsPerDay, true))));
  return [
    benchRow(
      { name: "ladder of 5 stages over a week at 10 s, panel measured", ...plain, value: median(measured) },
      { most: 8 },
    ),
    benchRow(
      { name: "ladder of 5 stages over a week at 10 s, panel estimated", ...plain, value: median(estimated) },
      { most: 8 },
    ),
    benchRow(
      {
        name: "ladder of 5 stages over a year at 10 s",
        floor: "a second",
        floorValue: 1000,
        value: yearMs,
        unit: "ms",
      },
      { most: 1 },
    ),
    benchRow(
      {
        name: "a reading in a coat's second month",
        floor: "a reading on its second day",
        floorValue: dayNs,
        value: monthNs,
        unit: "ns",
      },
      { most: 1.2 },
    ),
    benchRow(
      {
        name: "a reading in a coat's second year",
        floor: "a reading on its second day",
        floorValue: dayNs,
        value: yearNs,
        unit: "ns",
      },
      { most: 1.2 },
    ),
  ];
}

/** Days that warm and cool, with a sensor's noise; invented, the same at each run. */
function inventedClimate(count: number): Climate {
  const climate = {
    airC: new Float64Array(count),
    rhPercent: new Float64Array(count),
    panelC: new Float64Array(count),
  };
  for (let i = 0; i < count; i++) {
    const day = (2 * Math.PI * i) / readingsPerDay;
    climate.airC[i] = 18 + 6 * Math.sin(day) + 0.03 * Math.sin(i * 1.7) + 0.03 * Math.sin(i * 12.9898);
    climate.rhPercent[i] = 55 + 10 * Math.sin(day + 1);
    climate.panelC[i] = 17.5 + 6 * Math.sin(day - 0.1) + 0.03 * Math.sin(i * 2.3) + 0.03 * Math.sin(i * 7.77);
  }
  return climate;
}

/** The floor: equivalent minutes at 20 °C and 50 kJ/mol, the temperature even between readings, good to 1e-8. */
function plainIntegral(panelC: Float64Array): number {
  const activationK = 50_000 / 8.314462618;
  const atReference = activationK / 293.15;
  const first = (1 - 1 / Math.sqrt(3)) / 2;
  let sum = 0;
  for (let i = 1; i < panelC.length; i++) {
    const from = (panelC[i - 1] as number) + 273.15;
    const change = (panelC[i] as number) + 273.15 - from;
    sum += Math.exp(atReference - activationK / (from + first * change));
    sum += Math.exp(atReference - activationK / (from + (1 - first) * change));
  }
  return (sum * 10) / 120;
}

/** A climb that sees this many readings, with a gap of 40 min each day. */
function climbThrough(climate: Climate, count: number, measured: boolean): CoatClimb {
  const climb = new CoatClimb({ ladder: benchLadder(), finishedAtMs, substrate: "steel" });
  feed(climb, climate, 0, count, measured);
  return climb;
}

/** One object for all readings, so that making them is not measured. */
function feed(climb: CoatClimb, climate: Climate, from: number, to: number, measured: boolean): void {
  const reading: ClimateReading = { atMs: finishedAtMs + 0.5, airC: 20.5, rhPercent: 50.5 };
  if (measured) reading.panelC = 20.5;
  const length = climate.airC.length;
  for (let i = from; i < to; i++) {
    const at = i % length;
    reading.atMs = finishedAtMs + i * 10_000 + Math.floor(i / readingsPerDay) * 2_400_000;
    reading.airC = climate.airC[at] as number;
    reading.rhPercent = climate.rhPercent[at] as number;
    if (measured) reading.panelC = climate.panelC[at] as number;
    climb.append(reading);
  }
}

/** One reading's cost on the coat's second day, in its second month and second year: medians over stretches of a thousand. */
function nanosecondsAReading(): { dayNs: number; monthNs: number; yearNs: number } {
  const climate = inventedClimate(week);
  const climb = climbThrough(climate, readingsPerDay, true);
  const costOver = (from: number, thousands: number) => {
    const costs = Array.from({ length: thousands }, (_, i) =>
      millisecondsOf(() => feed(climb, climate, from + 1000 * i, from + 1000 * (i + 1), true)),
    );
    return median(costs) * 1000;
  };
  const dayNs = costOver(readingsPerDay, 40);
  const month = 30 * readingsPerDay;
  feed(climb, climate, readingsPerDay + 40_000, month, true);
  const monthNs = costOver(month, 40);
  const year = 365 * readingsPerDay;
  feed(climb, climate, month + 40_000, year, true);
  return { dayNs, monthNs, yearNs: costOver(year, 40) };
}

function benchLadder(): Ladder {
  const read = readSheet({
    id: "bench-clear",
    revision: 1,
    name: "Invented air-dry clear",
    invented: true,
    kind: "clearcoat",
    film: { dryUm: 55 },
    humiditySensitivity: 0.1,
    stages: [
      { stage: "dust-free", minutesAtC: { "20": 9, "60": 2.2 } },
      { stage: "demask", minutesAtC: { "20": 30, "60": 6 } },
      { stage: "assemble", minutesAtC: { "20": 45, "60": 9.5 } },
      { stage: "polish", minutesAtC: { "20": 60, "60": 12 } },
      { stage: "full-cure", minutesAtC: { "20": 10080, "60": 1440 } },
    ],
  });
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  return read.ladder;
}

function millisecondsOf(work: () => unknown): number {
  const from = performance.now();
  work();
  return performance.now() - from;
}
