/** The store of readings: what every engine must offer. tests/store-suite.ts holds each engine to it. */
import type { Mark, Quantity } from "../../collector/readings.ts";

/** Names one line of readings. */
export interface Series {
  collector: string;
  sensor: string;
  quantity: Quantity;
}

/** Identified by series and instant: a second copy changes nothing. */
export interface StoredReading extends Series {
  /** UTC milliseconds, whole. */
  atMs: number;
  value: number;
  /** What the collector found against it; absent from a good one. */
  mark?: Mark;
}

export interface Sample {
  atMs: number;
  value: number;
  mark?: Mark;
  /** Set where the readings themselves are gone: the value is the mean of a stretch so long, and atMs its middle. */
  meanOverMs?: number;
}

export interface Bucket {
  startMs: number;
  count: number;
  min: number;
  max: number;
  mean: number;
  /** Holds a roll-up, which is longer than this bucket: it stands where it starts, and the buckets after it are empty. */
  isCoarse?: true;
}

/** How far from 1970 the instant of a reading may lie, either way, so that every engine can hold it: InfluxDB counts nanoseconds in 64 bits. 1678 to 2261. */
export const furthestMs = 9.2e12;

/** Throws for a reading that no store takes: nothing may come to wait for ever on its way to one. */
export function refuseBeyond({ atMs }: StoredReading): void {
  if (Number.isInteger(atMs) && Math.abs(atMs) <= furthestMs) return;
  throw new Error(`a reading at ${atMs} ms can't be stored: expected a whole number, from 1678 to 2261`);
}

/** How long a roll-up is; each starts at a whole multiple of it, in UTC. */
export const rollUpMs = 5 * 60_000;

export interface ReadingStore {
  /**
   * Stores readings durably, all or none, and gives back those that were not there before, in the order given. One that
   * comes where readings were rolled up counts as there: nobody can tell any more whether it is.
   */
  append(readings: readonly StoredReading[]): Promise<StoredReading[]>;
  /** Samples with fromMs ≤ instant < toMs, in order of time. */
  range(series: Series, fromMs: number, toMs: number): Promise<Sample[]>;
  /** The newest sample at or before an instant (of all when absent) that is not marked bad. */
  latest(series: Series, atOrBeforeMs?: number): Promise<Sample | undefined>;
  /** The oldest sample at or after an instant (of all when absent), whatever its mark. */
  earliest(series: Series, atOrAfterMs?: number): Promise<Sample | undefined>;
  /** Minimum, maximum and mean in buckets of `bucketMs` counted from fromMs; empty buckets are left out. Readings that are of no use (isUsable) are not counted. */
  thin(series: Series, span: { fromMs: number; toMs: number; bucketMs: number }): Promise<Bucket[]>;
  /**
   * Puts roll-ups in the place of readings before an instant, where a whole roll-up's length lies before it: a piece that
   * is done in milliseconds, all or none. Gives how many readings it took away; 0 when none are left to take.
   */
  rollUp(beforeMs: number): Promise<number>;
  /** How many buckets `thin` would give, without reading all that is in them. */
  countBuckets(series: Series, span: { fromMs: number; toMs: number; bucketMs: number }): Promise<number>;
  /** Every series of which something is kept. */
  series(): Promise<Series[]>;
  close(): Promise<void>;
}

/** What a copy of a store is written to. */
export interface ReadingTarget {
  append: ReadingStore["append"];
  /** Takes roll-ups, each five minutes long, where there is none yet. */
  takeRollUps(series: Series, rollUps: readonly Bucket[]): Promise<void>;
}

/** A store on another machine that does not answer, or refuses: to be asked again later. The message says where it is and what to do. */
export class StoreAway extends Error {}

/** What reads a store, and changes nothing. */
export type ReadingSource = Omit<ReadingStore, "append" | "rollUp">;

/** Start of the roll-up in which an instant lies. */
export function rollUpStart(atMs: number): number {
  return Math.floor(atMs / rollUpMs) * rollUpMs;
}

export function seriesKey(series: Series): string {
  return `${series.collector}/${series.sensor}/${series.quantity}`;
}
