/** What is taken out of the past before a place is learned from it: spikes and a sensor that stood still. */
import { halfHoursADay } from "./half-hours.ts";

/** A value further than this many robust standard deviations from the usual one of its half hour is drawn in (assumed). */
const spikeDeviations = 5;
/** …but never one that is nearer than this (assumed). */
const leastSpikeK = 2;
/** As many equal half hours in a row mean a sensor that stands still (assumed: a whole day; a quiet night can be even). */
const stuckHalfHours = 48;

/** How many of the values are known. */
export function knownCount(values: Float64Array): number {
  let known = 0;
  for (const value of values) if (!Number.isNaN(value)) known++;
  return known;
}

/** The values without long runs of exactly the same value; unchanged where that would leave less than `least` of them. */
export function withoutStuck(values: Float64Array, least: number): Float64Array {
  const moving = values.slice();
  let from = 0;
  for (let i = 1; i <= values.length; i++) {
    if (i < values.length && values[i] === values[from]) continue;
    if (i - from >= stuckHalfHours) moving.fill(Number.NaN, from, i);
    from = i;
  }
  return knownCount(moving) >= least ? moving : values;
}

/**
 * Draws spikes in to the edge of what is usual: the median of the same half hour and its neighbours, 5 robust standard
 * deviations (1.4826 × the median absolute deviation) to either side. `slots` is the half hour of the day of each value,
 * `groups` 0 or 1 for values that should not be compared with each other.
 */
export function withoutSpikes(values: Float64Array, slots: Uint8Array, groups: Uint8Array): Float64Array {
  const bySlot: number[][] = Array.from({ length: 2 * halfHoursADay }, () => []);
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    for (let near = -1; near <= 1; near++) {
      const slot = ((slots[i] as number) + near + halfHoursADay) % halfHoursADay;
      bySlot[(groups[i] as number) * halfHoursADay + slot]?.push(value);
    }
  }
  const usual = bySlot.map(middleOf);
  const usualOf = (i: number) => usual[(groups[i] as number) * halfHoursADay + (slots[i] as number)] as number;
  const deviations: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const deviation = Math.abs((values[i] as number) - usualOf(i));
    if (!Number.isNaN(deviation)) deviations.push(deviation);
  }
  const reachK = Math.max(leastSpikeK, spikeDeviations * 1.4826 * middleOf(deviations));
  return values.map((value, i) => Math.min(usualOf(i) + reachK, Math.max(usualOf(i) - reachK, value)));
}

/** The median, of an even number the lower middle; NaN of nothing. */
function middleOf(values: number[]): number {
  values.sort((a, b) => a - b);
  return values[(values.length - 1) >> 1] ?? Number.NaN;
}
