/** What a quantity came to over a span: pure. */

/** One value of a quantity; it goes evenly from one to the next. */
export interface Point {
  atMs: number;
  value: number;
}

export interface Bounds {
  min?: number | undefined;
  max?: number | undefined;
}

export interface Spread {
  min: number;
  /** Over time, not over readings. */
  mean: number;
  max: number;
  /** Below min or above max; null where neither is given. */
  minutesOutside: number | null;
}

const msPerMinute = 60_000;

/**
 * The spread of a quantity that goes evenly from point to point, in order of time. Two points further apart than `longestMs` are a gap, and nothing
 * is said of it. Null without a stretch of time that something is known of.
 */
export function spreadOf(points: readonly Point[], bounds: Bounds | undefined, longestMs: number): Spread | null {
  let knownMs = 0;
  let area = 0;
  let outsideMs = 0;
  let [min, max] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let index = 1; index < points.length; index++) {
    const [from, to] = [points[index - 1] as Point, points[index] as Point];
    const lengthMs = to.atMs - from.atMs;
    if (!(lengthMs > 0 && lengthMs <= longestMs)) continue;
    knownMs += lengthMs;
    area += ((from.value + to.value) / 2) * lengthMs;
    min = Math.min(min, from.value, to.value);
    max = Math.max(max, from.value, to.value);
    if (bounds?.min !== undefined) outsideMs += lengthMs * shareAbove(bounds.min - from.value, bounds.min - to.value);
    if (bounds?.max !== undefined) outsideMs += lengthMs * shareAbove(from.value - bounds.max, to.value - bounds.max);
  }
  if (knownMs === 0) return null;
  const isBounded = bounds?.min !== undefined || bounds?.max !== undefined;
  return { min, mean: area / knownMs, max, minutesOutside: isBounded ? outsideMs / msPerMinute : null };
}

/** Time without a value: between points further apart than `longestMs`, and at both ends of the span. */
export function gapMinutes(
  points: readonly Pick<Point, "atMs">[],
  fromMs: number,
  toMs: number,
  longestMs: number,
): number {
  const instants = [fromMs, ...points.map(({ atMs }) => Math.min(Math.max(atMs, fromMs), toMs)), toMs];
  const lengths = instants.slice(1).map((atMs, index) => atMs - (instants[index] as number));
  return lengths.filter((ms) => ms > longestMs).reduce((sum, ms) => sum + ms, 0) / msPerMinute;
}

/** Share of a stretch over which a line from one value to another lies above 0. */
function shareAbove(from: number, to: number): number {
  if (from <= 0 && to <= 0) return 0;
  if (from >= 0 && to >= 0) return 1;
  return Math.max(from, to) / Math.abs(from - to);
}
