/** Individuals and moving ranges: whether single values in order of time still come from one and the same process. */

/** Limits of the individuals lie 3 standard deviations out, taken as the mean moving range ÷ 1.128: 2.66 mean ranges. */
const individualsFactor = 3 / 1.128;
/** D4 for ranges of two. NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2. */
const rangeFactor = 3.267;
/** With fewer values the limits say little; assumed. */
export const fewestForLimits = 10;

export interface ControlPoint {
  value: number;
  /** Distance from the value before; null of the first. */
  range: number | null;
  outside: "above" | "below" | null;
  isRangeOutside: boolean;
}

export interface ControlLimits {
  mean: number;
  lower: number;
  upper: number;
  meanRange: number;
  rangeUpper: number;
}

/** Values in order of time. Without limits, and so nothing outside, where there are fewer than `fewest` (2 or more). */
export function controlChart(
  values: readonly number[],
  fewest = fewestForLimits,
): { points: ControlPoint[]; limits: ControlLimits | null } {
  const ranges = values.map((value, index) => (index === 0 ? null : Math.abs(value - (values[index - 1] as number))));
  const limits = values.length < Math.max(2, fewest) ? null : limitsOf(values, ranges.slice(1) as number[]);
  const points = values.map((value, index): ControlPoint => {
    const range = ranges[index] ?? null;
    if (limits === null) return { value, range, outside: null, isRangeOutside: false };
    const outside = value > limits.upper ? "above" : value < limits.lower ? "below" : null;
    return { value, range, outside, isRangeOutside: range !== null && range > limits.rangeUpper };
  });
  return { points, limits };
}

function limitsOf(values: readonly number[], ranges: readonly number[]): ControlLimits {
  const mean = meanOf(values);
  const meanRange = meanOf(ranges);
  const reach = individualsFactor * meanRange;
  return { mean, lower: mean - reach, upper: mean + reach, meanRange, rangeUpper: rangeFactor * meanRange };
}

const meanOf = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
