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
}

export interface Bucket {
  startMs: number;
  count: number;
  min: number;
  max: number;
  mean: number;
}

export interface BucketSpan {
  fromMs: number;
  toMs: number;
  bucketMs: number;
  lowest: number;
  highest: number;
}

export interface ReadingStore {
  /** Stores readings durably, all or none, and gives back those that were not there before, in the order given. */
  append(readings: readonly StoredReading[]): Promise<StoredReading[]>;
  /** Samples with fromMs ≤ instant < toMs, in order of time. */
  range(series: Series, fromMs: number, toMs: number): Promise<Sample[]>;
  /** The newest sample at or before an instant (of all when absent) that is not marked bad. */
  latest(series: Series, atOrBeforeMs?: number): Promise<Sample | undefined>;
  /** Minimum, maximum and mean in buckets of `bucketMs` counted from fromMs; empty buckets are left out. Values outside [lowest, highest] and those marked bad are not counted. */
  thin(series: Series, span: BucketSpan): Promise<Bucket[]>;
  /** How many buckets `thin` would give, without reading all that is in them. */
  countBuckets(series: Series, span: BucketSpan): Promise<number>;
  /** Every series ever stored. */
  series(): Promise<Series[]>;
  close(): Promise<void>;
}

export function seriesKey(series: Series): string {
  return `${series.collector}/${series.sensor}/${series.quantity}`;
}
