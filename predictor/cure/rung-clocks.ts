/**
 * What each rung alone would have climbed since the finish, over time. A rung's rate depends on the conditions and not
 * on how far the coat is, so one such record serves a run at any factor on all rates: it leaves rung k when the record
 * of k has grown by 1/factor since it entered.
 *
 * Rows lie close while the coat is young and thin out with its age: between two rows a total is the cubic that fits
 * both totals and rates, and a row is left out only where that moves an instant by some millionth of the coat's age.
 */
import type { RungStep } from "./rung-rates.ts";
import { cubicRoot, type StepCubic, summedAt, throughMiddle, withMean } from "./step-cubic.ts";
import type { Conditions } from "./stretch.ts";

/** Largest relative change of a rate, times minutes between rows, over the age; an eighth of it bounds the error in time. */
const thinning = 8e-6;
/** Rows are never further apart than this part of the age. */
const widest = 1 / 512;

export class RungClocks {
  private readonly rungs: number;
  private readonly width: number;
  private rows: Float64Array;
  private count = 0;

  constructor(rungs: number) {
    this.rungs = rungs;
    this.width = 2 + 2 * rungs;
    this.rows = new Float64Array(64 * this.width);
  }

  get length(): number {
    return this.count;
  }

  /** Takes back all rows after the first `length`. */
  cutTo(length: number): void {
    this.count = length;
  }

  get bytes(): number {
    return this.rows.byteLength;
  }

  /** Adds a row: the conditions at the start of each rung's step, its rate there and what that has summed up to. */
  add(at: Conditions, steps: readonly RungStep[]): void {
    const start = this.count * this.width;
    if (start === this.rows.length) {
      const grown = new Float64Array(Math.ceil(this.count * 1.5) * this.width);
      grown.set(this.rows);
      this.rows = grown;
    }
    const { rows, rungs } = this;
    rows[start] = at.minutes;
    rows[start + 1] = at.panelC;
    for (let k = 0; k < rungs; k++) {
      const step = steps[k] as RungStep;
      rows[start + 2 + k] = step.rowTotal = step.total;
      rows[start + 2 + rungs + k] = step.rowRate = step.start;
    }
    this.count++;
  }

  /** Whether nothing between the last row and the end of these steps wants a row, from `firstRung` on. */
  reaches(end: Conditions, steps: readonly RungStep[], firstRung: number): boolean {
    const { minutes } = end;
    const span = minutes - (this.rows[(this.count - 1) * this.width] as number);
    if (!(span < widest * minutes)) return false;
    const allowed = thinning * minutes;
    for (let k = firstRung; k < this.rungs; k++) {
      const step = steps[k] as RungStep;
      if (!(Math.abs(step.end - step.rowRate) * span <= allowed * step.rowRate)) return false;
    }
    return true;
  }

  /** Total of rung k at an instant in minutes since the finish; 0 before it, at the last rate after the last row. */
  totalAt(k: number, minutes: number): number {
    if (!(minutes > 0)) return 0;
    const row = this.firstRowFrom(0, minutes);
    const end = row * this.width;
    if (row === this.count) {
      const last = end - this.width;
      return (
        (this.rows[last + 2 + k] as number) +
        (this.rows[last + 2 + this.rungs + k] as number) * (minutes - (this.rows[last] as number))
      );
    }
    if (row === 0) return 0;
    const start = end - this.width;
    const length = (this.rows[end] as number) - (this.rows[start] as number);
    const x = (minutes - (this.rows[start] as number)) / length;
    return (this.rows[start + 2 + k] as number) + length * summedAt(this.cubic(k, start), x);
  }

  /** Instant at which rung k's total comes to `target`; beyond the last row at its rate, Infinity where that is 0. */
  timeOf(k: number, target: number): number {
    const row = this.firstRowFrom(2 + k, target);
    const end = row * this.width;
    if (row === 0) return 0;
    const start = end - this.width;
    const missing = target - (this.rows[start + 2 + k] as number);
    const from = this.rows[start] as number;
    if (row === this.count) return from + missing / (this.rows[start + 2 + this.rungs + k] as number);
    const length = (this.rows[end] as number) - from;
    return from + length * cubicRoot(this.cubic(k, start), missing / length);
  }

  /** Panel temperature at an instant, after a step at it; held before the first and after the last row. */
  panelAt(minutes: number): number {
    let row = this.firstRowFrom(0, minutes);
    while (row + 1 < this.count && this.rows[(row + 1) * this.width] === minutes) row++;
    const end = Math.min(row, this.count - 1) * this.width;
    if (row === 0 || row === this.count) return this.rows[end + 1] as number;
    const start = end - this.width;
    const from = this.rows[start] as number;
    const length = (this.rows[end] as number) - from;
    const x = length > 0 ? (minutes - from) / length : 1;
    return (this.rows[start + 1] as number) * (1 - x) + (this.rows[end + 1] as number) * x;
  }

  /** Lowest and highest panel temperature from the first row up to an instant. */
  panelRange(untilMinutes: number): { coldestC: number; warmestC: number } {
    let coldestC = this.panelAt(untilMinutes);
    let warmestC = coldestC;
    for (let row = 0; row < this.count && (this.rows[row * this.width] as number) <= untilMinutes; row++) {
      const panelC = this.rows[row * this.width + 1] as number;
      coldestC = Math.min(coldestC, panelC);
      warmestC = Math.max(warmestC, panelC);
    }
    return { coldestC, warmestC };
  }

  /** When something that grows by `rateAt` a minute, the panel's temperature alone, has come to `amount`. */
  minutesUntil(amount: number, rateAt: (panelC: number) => number): number {
    let missing = amount;
    for (let start = 0; start + this.width < this.count * this.width; start += this.width) {
      const from = this.rows[start] as number;
      const length = (this.rows[start + this.width] as number) - from;
      const fromC = this.rows[start + 1] as number;
      const toC = this.rows[start + this.width + 1] as number;
      const step = throughMiddle(rateAt(fromC), rateAt((fromC + toC) / 2), rateAt(toC));
      const grown = length * summedAt(step, 1);
      if (grown >= missing) return from + length * cubicRoot(step, missing / length);
      missing -= grown;
    }
    const last = (this.count - 1) * this.width;
    return (this.rows[last] as number) + missing / rateAt(this.rows[last + 1] as number);
  }

  /** The first row whose value in a rising column is at least `value`; the number of rows where none is. */
  private firstRowFrom(column: number, value: number): number {
    let low = 0;
    let high = this.count;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if ((this.rows[middle * this.width + column] as number) >= value) high = middle;
      else low = middle + 1;
    }
    return low;
  }

  /** The cubic of rung k between the row that starts at `start` and the next, over its length. */
  private cubic(k: number, start: number): StepCubic {
    const end = start + this.width;
    const length = (this.rows[end] as number) - (this.rows[start] as number);
    const mean = ((this.rows[end + 2 + k] as number) - (this.rows[start + 2 + k] as number)) / length;
    const rates = 2 + this.rungs + k;
    return withMean(this.rows[start + rates] as number, mean, this.rows[end + rates] as number);
  }
}
