/**
 * How an anomaly (the temperature less what is usual then) goes on, learned lead time by lead time: the anomaly ahead is
 * a weighted sum of a few figures known now, the weights by least squares on the place's own past.
 */
import { halfHoursADay } from "./half-hours.ts";
import { addSample, addSums, emptySums, type NormalSums, ridge } from "./ridge.ts";

/** Lead times in half hours for which weights are learned; in between they are interpolated. */
export const leads = [1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 32, 40, 47, 60, 72, 84, 96] as const;

/** The weights expected beforehand count as so many samples: four days of half hours (assumed). */
const expectedSamples = 4 * halfHoursADay;
/** What is expected beforehand: an anomaly sinks with this time constant… (assumed: 12 hours) */
const expectedRelaxation = 24;
/** …to this share of the mean anomaly of the last day (assumed). */
const expectedShare = 0.8;
/** Errors are told from days whose own errors played no part, in so many parts of the past. */
const parts = 4;
/** The band is widened by this share divided by the known days: few days have not seen everything (assumed). */
const widening = 1.5;
/** A band is never narrower than this to either side, K (assumed: what a common sensor resolves). */
export const leastBandK = 0.1;
/** A slope steeper than so many times the usual one is a door or a hand at the probe, not the way on (assumed). */
const steepest = 4;

/** The figures a forecast is made of, in this order; K. */
export interface Present {
  anomalyK: number;
  /** Change of the anomaly over the last hour. */
  slopeK: number;
  /** Mean anomaly of the last day. */
  dayK: number;
  /** What the anomaly did over the same hours of a day before. */
  yesterdayK: number;
}

export interface LeadTable {
  /** By index of `leads`. */
  weights: readonly Float64Array[];
  /** P10 and P90 of the errors, K, by index of `leads`. */
  below: Float64Array;
  above: Float64Array;
  /** The steepest slope that is believed, K an hour. */
  steepestK: number;
  /** The largest anomaly of the past, K: none further out is told, unless it is further out already. */
  furthestK: number;
}

/** How many half hours before now the anomaly of the same time of day as `lead` ahead was known for certain. */
export function daysBack(lead: number): number {
  return Math.ceil((lead + 1) / halfHoursADay);
}

/** Learns the weights and errors from anomalies by half hour (NaN where unknown) and the number of each one's day. */
export function learnLeads(anomalies: Float64Array, day: Uint16Array): LeadTable {
  const known = (i: number) => anomalies[i] ?? Number.NaN;
  const slopes = anomalies.map((anomaly, i) => orZero(anomaly - known(i - 2)));
  const dayMeans = meansOfTheLastDay(anomalies);
  let count = 0;
  let squares = 0;
  let furthestK = 0;
  for (const [i, anomaly] of anomalies.entries()) {
    if (Number.isNaN(anomaly)) continue;
    count++;
    squares += (slopes[i] as number) ** 2;
    furthestK = Math.max(furthestK, Math.abs(anomaly));
  }
  const steepestK = steepest * Math.sqrt(squares / Math.max(1, count)) + leastBandK;
  const widen = 1 + (widening * halfHoursADay) / Math.max(1, count);

  const weights: Float64Array[] = [];
  const below = new Float64Array(leads.length);
  const above = new Float64Array(leads.length);
  const features = new Float64Array(4);
  const describe = (i: number, lead: number) => {
    const back = daysBack(lead) * halfHoursADay;
    features[0] = anomalies[i] as number;
    features[1] = Math.min(steepestK, Math.max(-steepestK, slopes[i] as number));
    features[2] = dayMeans[i] as number;
    features[3] = orZero(known(i + lead - back) - known(i - back));
    return features;
  };
  for (const [l, lead] of leads.entries()) {
    const sums = Array.from({ length: parts }, () => emptySums(4));
    const usable = (i: number) => !Number.isNaN(anomalies[i] as number) && !Number.isNaN(known(i + lead));
    for (let i = halfHoursADay; i + lead < anomalies.length; i++) {
      if (usable(i))
        addSample(sums[(day[i + lead] as number) % parts] as NormalSums, describe(i, lead), known(i + lead));
    }
    const expected = expectedWeights(lead);
    weights.push(ridge(totalOf(sums), expected, expectedSamples));
    const others = sums.map((_, part) => ridge(totalOf(sums.toSpliced(part, 1)), expected, expectedSamples));
    const errors: number[] = [];
    for (let i = 0; i + lead < anomalies.length; i++) {
      if (!usable(i)) continue;
      const told = weighted(others[(day[i + lead] as number) % parts] as Float64Array, describe(i, lead));
      errors.push(known(i + lead) - told);
    }
    const sorted = Float64Array.from(errors).sort();
    below[l] = Math.min(-leastBandK, widen * quantile(sorted, 0.1));
    above[l] = Math.max(leastBandK, widen * quantile(sorted, 0.9));
  }
  fillUnknown(below);
  fillUnknown(above);
  return { weights, below, above, steepestK, furthestK };
}

/** The anomaly so many half hours ahead and its band, K; 0…96, beyond held at 96. */
export function anomalyAhead(
  table: LeadTable,
  lead: number,
  now: Present,
): { mean: number; below: number; above: number } {
  const { anomalyK, dayK, yesterdayK } = now;
  const slopeK = Math.min(table.steepestK, Math.max(-table.steepestK, now.slopeK));
  const features = Float64Array.of(anomalyK, slopeK, dayK, yesterdayK);
  const next = leads.findIndex((learned) => learned >= lead);
  const after = next === -1 ? leads.length - 1 : next;
  const from = after === 0 ? 0 : (leads[after - 1] as number);
  const share = Math.min(1, (lead - from) / ((leads[after] as number) - from));
  const between = (before: number, at: number) => before + share * (at - before);
  const furthestK = Math.max(table.furthestK, Math.abs(anomalyK));
  const meanAt = (l: number) =>
    Math.min(furthestK, Math.max(-furthestK, weighted(table.weights[l] as Float64Array, features)));
  return {
    mean: between(after === 0 ? anomalyK : meanAt(after - 1), meanAt(after)),
    below: between(after === 0 ? -leastBandK : (table.below[after - 1] as number), table.below[after] as number),
    above: between(after === 0 ? leastBandK : (table.above[after - 1] as number), table.above[after] as number),
  };
}

function expectedWeights(lead: number): Float64Array {
  const left = Math.exp(-lead / expectedRelaxation);
  return Float64Array.of(left, 0, expectedShare * (1 - left), 0);
}

function weighted(weights: Float64Array, features: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < weights.length; j++) sum += (weights[j] as number) * (features[j] as number);
  return sum;
}

function totalOf(sums: readonly NormalSums[]): NormalSums {
  const total = emptySums(4);
  for (const part of sums) addSums(total, part);
  return total;
}

/** Mean of what is known of the day up to and with each half hour; 0 where nothing is. */
function meansOfTheLastDay(anomalies: Float64Array): Float64Array {
  let sum = 0;
  let count = 0;
  return anomalies.map((anomaly, i) => {
    const gone = anomalies[i - halfHoursADay] ?? Number.NaN;
    if (!Number.isNaN(gone)) {
      sum -= gone;
      count--;
    }
    if (!Number.isNaN(anomaly)) {
      sum += anomaly;
      count++;
    }
    return count > 0 ? sum / count : 0;
  });
}

/** Linear between the sorted values; NaN of nothing. */
function quantile(sorted: Float64Array, share: number): number {
  const position = share * (sorted.length - 1);
  const index = Math.floor(position);
  const from = sorted[index] ?? Number.NaN;
  const to = sorted[index + 1] ?? from;
  return from + (position - index) * (to - from);
}

/** A lead time that the past holds no errors of takes those of the nearest shorter one, else of the nearest longer one. */
function fillUnknown(values: Float64Array): void {
  for (let l = 1; l < values.length; l++) if (Number.isNaN(values[l])) values[l] = values[l - 1] as number;
  for (let l = values.length - 2; l >= 0; l--) if (Number.isNaN(values[l])) values[l] = values[l + 1] as number;
}

function orZero(value: number): number {
  return Number.isNaN(value) ? 0 : value;
}
