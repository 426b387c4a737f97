/** Readings and roll-ups of one series, put together. */
import type { Bucket, Sample } from "./store.ts";

/** Two parts of a whole, each in order of time. */
export function inOrder(samples: readonly Sample[], rolled: readonly Sample[]): Sample[] {
  return [...samples, ...rolled].sort((a, b) => a.atMs - b.atMs);
}

/** What readings and roll-ups say of the same buckets. */
export function joined(buckets: readonly Bucket[], rolled: readonly Bucket[]): Bucket[] {
  const byStart = new Map(buckets.map((bucket) => [bucket.startMs, bucket]));
  for (const bucket of rolled) add(byStart, bucket);
  return inTime(byStart);
}

/** What starts in each bucket of a span. */
export function gathered(parts: readonly Bucket[], span: { fromMs: number; bucketMs: number }): Bucket[] {
  const byStart = new Map<number, Bucket>();
  for (const part of parts) {
    const startMs = span.fromMs + Math.floor((part.startMs - span.fromMs) / span.bucketMs) * span.bucketMs;
    add(byStart, { ...part, startMs });
  }
  return inTime(byStart);
}

function add(byStart: Map<number, Bucket>, bucket: Bucket): void {
  const other = byStart.get(bucket.startMs);
  byStart.set(bucket.startMs, other === undefined ? bucket : together(bucket, other));
}

function inTime(byStart: ReadonlyMap<number, Bucket>): Bucket[] {
  return [...byStart.values()].sort((a, b) => a.startMs - b.startMs);
}

function together(one: Bucket, other: Bucket): Bucket {
  const count = one.count + other.count;
  return {
    ...one,
    count,
    min: Math.min(one.min, other.min),
    max: Math.max(one.max, other.max),
    mean: (one.mean * one.count + other.mean * other.count) / count,
  };
}
