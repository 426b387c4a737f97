/** Compares two sensors of one quantity in one place: pure, and fed with usable readings alone. */
import type { Quantity } from "../../collector/readings.ts";

export interface Difference {
  /** `now`: over the last half hour by more than twice what two sound sensors may; `drift`: over a day by more than they may. */
  differs: "no" | "now" | "drift";
  /** First sensor minus second, in the quantity's unit: the median over so many hours. */
  byMedian: number;
  overHours: number;
}

/**
 * What two sound sensors in one place may differ by. All assumed: a little more than two usual accuracies together, because
 * two sensors never hang in the very same air. Air ±0.3 K each, humidity ±3 % each, a panel ±1 K each by contact or infrared,
 * air speed ±0.1 m/s each, pressure ±100 Pa each.
 */
export const neighbourBounds: Readonly<Record<Quantity, number>> = {
  "air-temperature": 1,
  "air-humidity": 6,
  "panel-temperature": 3,
  "air-speed": 0.3,
  "air-pressure": 300,
};

/** Readings no further apart than this tell of the same moment: two cadences of a slow sensor. */
const pairedWithinMs = 5 * 60_000;
/** Pairs closer to the last one tell nothing more, and are passed over. */
const pairsApartMs = 10_000;
const halfHourMs = 30 * 60_000;
const dayMs = 24 * 60 * 60_000;
/** A half hour is judged when it has so many pairs over so long, a day when so many of its half hours are. */
const pairsNeeded = 3;
const spanNeededMs = 15 * 60_000;
const halfHoursNeeded = 24;

interface Timed {
  atMs: number;
  value: number;
}

/** Keeps the differences of half an hour and the medians of a day's half hours (those of UTC), however much it is fed. */
export class NeighbourWatch {
  readonly #bound: number;
  readonly #newest: [Timed | null, Timed | null] = [null, null];
  /** Differences of the last half hour, the oldest first. */
  #recent: Timed[] = [];
  /** One for each half hour that is over, at its start: the median of the half hour up to its last pair. */
  #past: Timed[] = [];

  constructor(quantity: Quantity) {
    this.#bound = neighbourBounds[quantity];
  }

  /** Takes a reading of the first (0) or the second (1) sensor, UTC milliseconds. One that is no newer than the sensor's last is passed over. */
  take(which: 0 | 1, atMs: number, value: number): void {
    if (!(atMs > (this.#newest[which]?.atMs ?? Number.NEGATIVE_INFINITY)) || !Number.isFinite(value)) return;
    this.#newest[which] = { atMs, value };
    const [first, second] = this.#newest;
    if (first === null || second === null || !(Math.abs(first.atMs - second.atMs) <= pairedWithinMs)) return;
    this.#takePair({ atMs: Math.max(first.atMs, second.atMs), value: first.value - second.value });
  }

  /** How they stand to one another at an instant; null while too little is known. */
  state(nowMs: number): Difference | null {
    const halfHour = medianOver(this.#recent.filter(({ atMs }) => nowMs - atMs <= halfHourMs));
    const halfHours = this.#past.filter(({ atMs }) => nowMs - atMs <= dayMs);
    const day = halfHours.length < halfHoursNeeded ? null : median(halfHours);
    if (halfHour !== null && Math.abs(halfHour) > 2 * this.#bound) {
      return { differs: "now", byMedian: halfHour, overHours: 0.5 };
    }
    if (day !== null) {
      return { differs: Math.abs(day) > this.#bound ? "drift" : "no", byMedian: day, overHours: 24 };
    }
    return halfHour === null ? null : { differs: "no", byMedian: halfHour, overHours: 0.5 };
  }

  #takePair(pair: Timed): void {
    const last = this.#recent.at(-1);
    if (last !== undefined && !(pair.atMs - last.atMs >= pairsApartMs)) return;
    if (last !== undefined && halfHourOf(last.atMs) < halfHourOf(pair.atMs)) {
      const over = medianOver(this.#recent);
      if (over !== null) this.#past.push({ atMs: halfHourOf(last.atMs), value: over });
      this.#past = this.#past.filter(({ atMs }) => pair.atMs - atMs <= dayMs);
    }
    this.#recent = [...this.#recent.filter(({ atMs }) => pair.atMs - atMs <= halfHourMs), pair];
  }
}

function halfHourOf(atMs: number): number {
  return Math.floor(atMs / halfHourMs) * halfHourMs;
}

/** Null when the pairs are too few or too close together to stand for a half hour. */
function medianOver(pairs: readonly Timed[]): number | null {
  const spanMs = (pairs.at(-1)?.atMs ?? 0) - (pairs[0]?.atMs ?? 0);
  return pairs.length >= pairsNeeded && spanMs >= spanNeededMs ? median(pairs) : null;
}

function median(values: readonly Timed[]): number {
  const sorted = values.map(({ value }) => value).sort((a, b) => a - b);
  const middle = sorted.length / 2;
  return ((sorted[Math.ceil(middle - 1)] ?? Number.NaN) + (sorted[Math.floor(middle)] ?? Number.NaN)) / 2;
}
