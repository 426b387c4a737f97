/** Copies a store of readings into another, and compares what both then hold. A second time it changes nothing, so it may be cut off. */
import { daysOf, type Span } from "./days.ts";
import {
  type Bucket,
  furthestMs,
  type ReadingSource,
  type ReadingTarget,
  rollUpMs,
  type Series,
  type StoredReading,
} from "./store.ts";

/** What a store holds of a series, or of a day of it. Sums are made in order of time: those of the same values are equal to the last digit. */
export interface Held {
  readings: number;
  sum: number;
  marked: number;
  fiveMinutes: number;
  /** Readings in the five minutes, and the sum of their means. */
  counted: number;
  sumOfMeans: number;
}

export interface CopiedSeries {
  series: Series;
  from: Held;
  /** Of what `from` holds: by its instants. */
  to: Held;
  /** Readings of these days that `to` holds beside. */
  more: number;
  /** Days in UTC on which the two differ. */
  differing: string[];
}

const all: Span = { fromMs: -furthestMs, toMs: furthestMs + 1 };
const readingsAnAppend = 10_000;

export async function copyReadings(
  from: ReadingSource,
  to: ReadingSource & ReadingTarget,
  onSeries: (copied: CopiedSeries) => void,
): Promise<void> {
  for (const series of await from.series()) {
    for await (const day of daysOf(from, series, all)) {
      const { readings, rollUps } = await contentsOf(from, series, day);
      await to.takeRollUps(series, rollUps);
      for (let start = 0; start < readings.length; start += readingsAnAppend) {
        await to.append(readings.slice(start, start + readingsAnAppend));
      }
    }
    onSeries(await compared(from, to, series));
  }
}

async function compared(from: ReadingSource, to: ReadingSource, series: Series): Promise<CopiedSeries> {
  const copied: CopiedSeries = { series, from: nothing(), to: nothing(), more: 0, differing: [] };
  for await (const day of daysOf(from, series, all)) {
    const here = await contentsOf(from, series, day);
    const there = await contentsOf(to, series, day);
    const instants = new Set(here.readings.map(({ atMs }) => atMs));
    const starts = new Set(here.rollUps.map(({ startMs }) => startMs));
    const readings = there.readings.filter(({ atMs }) => instants.has(atMs));
    const rollUps = there.rollUps.filter(({ startMs }) => starts.has(startMs));
    const [ofFrom, ofTo] = [heldIn(here), heldIn({ readings, rollUps })];
    if (differ(ofFrom, ofTo)) copied.differing.push(new Date(day.fromMs).toISOString().slice(0, 10));
    add(copied.from, ofFrom);
    add(copied.to, ofTo);
    copied.more += there.readings.length - readings.length;
  }
  return copied;
}

interface Contents {
  readings: StoredReading[];
  rollUps: Bucket[];
}

async function contentsOf(store: ReadingSource, series: Series, day: Span): Promise<Contents> {
  const samples = await store.range(series, day.fromMs, day.toMs);
  const rolled = new Set(
    samples.flatMap(({ atMs, meanOverMs }) => (meanOverMs === undefined ? [] : atMs - rollUpMs / 2)),
  );
  const buckets = rolled.size === 0 ? [] : await store.thin(series, { ...day, bucketMs: rollUpMs });
  return {
    readings: samples.flatMap(({ meanOverMs, ...sample }) =>
      meanOverMs === undefined ? { ...series, ...sample } : [],
    ),
    rollUps: buckets.filter(({ startMs }) => rolled.has(startMs)),
  };
}

function heldIn({ readings, rollUps }: Contents): Held {
  const held = nothing();
  for (const { value, mark } of readings) {
    add(held, { ...nothing(), readings: 1, sum: value, marked: mark === undefined ? 0 : 1 });
  }
  for (const { count, mean } of rollUps) {
    add(held, { ...nothing(), fiveMinutes: 1, counted: count, sumOfMeans: mean });
  }
  return held;
}

function nothing(): Held {
  return { readings: 0, sum: 0, marked: 0, fiveMinutes: 0, counted: 0, sumOfMeans: 0 };
}

const parts = ["readings", "sum", "marked", "fiveMinutes", "counted", "sumOfMeans"] as const satisfies (keyof Held)[];

function add(total: Held, more: Held): void {
  for (const part of parts) total[part] += more[part];
}

function differ(one: Held, other: Held): boolean {
  return parts.some((part) => one[part] !== other[part]);
}
