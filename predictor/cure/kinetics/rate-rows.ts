/**
 * The panel's temperature and the rate constants since the finish, in rows that thin out with the coat's age: two spans
 * become one where that moves an instant by a hundred-thousandth of the age at most. The new one keeps the means, so
 * what the rate constants sum up to stays as it was; the hold of the glass is that of the mean temperature, off by some
 * thousandths where readings scatter by 0.1 K.
 */
import { cubicRoot, summedAt, throughMiddle } from "../step-cubic.ts";
import type { RateSpan } from "./rate-span.ts";

/** Largest relative change of a rate, times minutes between rows, over the age; an eighth of it bounds the error in time. */
const thinning = 8e-5;
/** Largest change of temperature inside a row that stands for several readings. */
const mostTravelC = 0.5;

const width = 8;
/** Where in a row each number stands: what holds at its end, then the means over the span that leads to it. */
const minutesAt = 0;
const panelAt = 1;
const firstAt = 2;
const secondAt = 3;
const extentAt = 4;
const meanPanelAt = 5;
const meanFirstAt = 6;
const meanSecondAt = 7;

export interface RowsState {
  count: number;
  travelC: number;
}

export class RateRows {
  /** Upper bound on how steeply the logarithm of a rate runs over temperature. */
  private readonly steepestPerK: number;
  private rows = new Float64Array(64 * width);
  private count = 0;
  /** How far the temperature goes from the start of the last row's span; Infinity when it may not grow. */
  private travelC = Number.POSITIVE_INFINITY;

  constructor(steepestPerK: number) {
    this.steepestPerK = steepestPerK;
  }

  get length(): number {
    return this.count;
  }

  get bytes(): number {
    return this.rows.byteLength;
  }

  state(): RowsState {
    return { count: this.count, travelC: this.travelC };
  }

  /** Leaves the rows there are as they are from now on. */
  seal(): void {
    this.travelC = Number.POSITIVE_INFINITY;
  }

  restore({ count, travelC }: RowsState): void {
    this.count = count;
    this.travelC = travelC;
  }

  /** Adds a row of no length: conditions that hold at once from an instant on. */
  step(minutes: number, panelC: number, first: number, second: number, extent: number): void {
    const row = this.newRow();
    this.writeEnd(row, minutes, panelC, first, second, extent);
    this.seal();
  }

  /** Adds a span that begins where the last row ends, `extent` being how far the likely run is at its end. */
  append(span: RateSpan, extent: number): void {
    const { panelC, first, second, startMinutes, lengthMinutes } = span;
    const minutes = startMinutes + lengthMinutes;
    const last = (this.count - 1) * width;
    const reach = (fromC: number) => Math.max(Math.abs(panelC.at(0.5) - fromC), Math.abs(panelC.to - fromC));
    const travelC = Math.max(this.travelC, reach(this.rows[last - width + panelAt] as number));
    const longer = minutes - this.minutesOf(this.count - 2);
    const merges = travelC <= mostTravelC && this.steepestPerK * travelC * longer <= thinning * minutes;
    const row = merges ? last : this.newRow();
    const share = merges ? lengthMinutes / longer : 1;
    this.mix(row + meanPanelAt, panelC.mean, share);
    this.mix(row + meanFirstAt, first.mean, share);
    this.mix(row + meanSecondAt, second.mean, share);
    this.writeEnd(row, minutes, panelC.to, first.to, second.to, extent);
    this.travelC = merges ? travelC : reach(panelC.from);
  }

  minutesOf(row: number): number {
    return this.rows[row * width + minutesAt] as number;
  }

  extentOf(row: number): number {
    return this.rows[row * width + extentAt] as number;
  }

  /** The first row that ends at an instant or later; the number of rows where none does. */
  rowAt(minutes: number): number {
    let low = 0;
    let high = this.count;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (this.minutesOf(middle) >= minutes) high = middle;
      else low = middle + 1;
    }
    return low;
  }

  /** Reads the span that a row, not the first, ends. */
  read(row: number, span: RateSpan): void {
    const { rows } = this;
    const end = row * width;
    const start = end - width;
    const value = (at: number) => rows[at] as number;
    span.startMinutes = value(start + minutesAt);
    span.lengthMinutes = value(end + minutesAt) - span.startMinutes;
    span.panelC.through(value(start + panelAt), value(end + meanPanelAt), value(end + panelAt));
    span.first.through(value(start + firstAt), value(end + meanFirstAt), value(end + firstAt));
    span.second.through(value(start + secondAt), value(end + meanSecondAt), value(end + secondAt));
  }

  /** Panel temperature at an instant, after a step at it; held before the first and after the last row. */
  panelAt(minutes: number): number {
    let row = this.rowAt(minutes);
    while (row + 1 < this.count && this.minutesOf(row + 1) === minutes) row++;
    const toC = this.panelOf(Math.min(row, this.count - 1));
    if (row === 0 || row >= this.count) return toC;
    const from = this.minutesOf(row - 1);
    const length = this.minutesOf(row) - from;
    const x = length > 0 ? (minutes - from) / length : 1;
    return this.panelOf(row - 1) * (1 - x) + toC * x;
  }

  /** Lowest and highest panel temperature from the first row up to an instant. */
  panelRange(untilMinutes: number): { coldestC: number; warmestC: number } {
    let coldestC = this.panelAt(untilMinutes);
    let warmestC = coldestC;
    for (let row = 0; row < this.count && this.minutesOf(row) <= untilMinutes; row++) {
      coldestC = Math.min(coldestC, this.panelOf(row));
      warmestC = Math.max(warmestC, this.panelOf(row));
    }
    return { coldestC, warmestC };
  }

  /** When something that grows by `rateAt` a minute, the panel's temperature alone, has come to `amount`. */
  minutesUntil(amount: number, rateAt: (panelC: number) => number): number {
    let missing = amount;
    for (let row = 1; row < this.count; row++) {
      const from = this.minutesOf(row - 1);
      const length = this.minutesOf(row) - from;
      if (!(length > 0)) continue;
      const [fromC, toC] = [this.panelOf(row - 1), this.panelOf(row)];
      const middleC = (6 * (this.rows[row * width + meanPanelAt] as number) - fromC - toC) / 4;
      const step = throughMiddle(rateAt(fromC), rateAt(middleC), rateAt(toC));
      const grown = length * summedAt(step, 1);
      if (grown >= missing) return from + length * cubicRoot(step, missing / length);
      missing -= grown;
    }
    return this.minutesOf(this.count - 1) + missing / rateAt(this.panelOf(this.count - 1));
  }

  private panelOf(row: number): number {
    return this.rows[row * width + panelAt] as number;
  }

  private newRow(): number {
    const start = this.count * width;
    if (start === this.rows.length) {
      const grown = new Float64Array(Math.ceil(this.count * 1.5) * width);
      grown.set(this.rows);
      this.rows = grown;
    }
    this.count++;
    return start;
  }

  private writeEnd(row: number, minutes: number, panelC: number, first: number, second: number, extent: number): void {
    this.rows[row + minutesAt] = minutes;
    this.rows[row + panelAt] = panelC;
    this.rows[row + firstAt] = first;
    this.rows[row + secondAt] = second;
    this.rows[row + extentAt] = extent;
  }

  /** Lets a mean take in a share of something new; all of it at share 1. */
  private mix(at: number, value: number, share: number): void {
    this.rows[at] = share === 1 ? value : (this.rows[at] as number) * (1 - share) + value * share;
  }
}
