/**
 * Integrates the rates of a ladder along stretches of time: what each rung alone would have climbed, the likely run,
 * and the same run with every panel temperature lowered by the sensor's uncertainty.
 */
import type { Ascent } from "./ascent.ts";
import type { Ladder, Rung } from "./ladder.ts";
import { percentWithin } from "./percent.ts";
import { Run } from "./run.ts";
import { RungClocks } from "./rung-clocks.ts";
import { RungRates, RungStep } from "./rung-rates.ts";
import { type StepCubic, summedAt, throughMiddle, withMean } from "./step-cubic.ts";
import { Conditions, type Stretch } from "./stretch.ts";

/** A run may be asked for down to rates this many times slower than the likely ones; slower ones never arrive. Assumed. */
const slowestShare = 16;

export class LadderAscent implements Ascent {
  private readonly ladderRungs: readonly Rung[];
  private readonly rateFactor: number;
  private readonly clocks: RungClocks;
  private readonly likely: Run;
  private readonly lowered: Run;
  /** The first rung that the slowest run for which a safe time may be asked has not left: those before stand still. */
  private slowestRung = 0;
  private slowestTarget = Number.NaN;
  private readonly slowestPerRung: number;
  private readonly rates: RungRates;
  private readonly loweredRates: RungRates;
  /** Each rung's step under way, at the likely rates. */
  private readonly steps: readonly RungStep[];
  /** What the lowered run's rates have summed up to at the last row, and the conditions there. */
  private loweredTotal = 0;
  private readonly rowAt = new Conditions();
  /** Steps climbed since the last row, and the middle of the first of them. */
  private stepsSinceRow = 0;
  private readonly rowMiddle = new Conditions();
  /** The lowered run's rates at the last row, at that middle, and at the end of the climb. */
  private readonly loweredFrom: readonly RungStep[];
  private readonly loweredMiddle: readonly RungStep[];
  private readonly loweredTo: readonly RungStep[];
  /** Where the climb has come to, and the middle and end of the step under way; the caller's own objects at the ends. */
  private start = new Conditions();
  private readonly middle = new Conditions();
  private end = this.start;
  private begun = false;

  /** Throws a RangeError for a film build that cannot be. */
  constructor(ladder: Ladder, filmUm: number, uncertaintyC: number, rateFactor: number) {
    this.ladderRungs = ladder.rungs;
    this.rateFactor = rateFactor;
    this.rates = new RungRates(ladder, filmUm);
    this.loweredRates = new RungRates(ladder, filmUm, -uncertaintyC);
    const { rungs } = this.rates;
    this.clocks = new RungClocks(rungs);
    this.likely = new Run(rungs, rateFactor);
    this.lowered = new Run(rungs, rateFactor);
    this.slowestPerRung = slowestShare / rateFactor;
    this.slowestTarget = this.slowestPerRung;
    const steps = () => Array.from({ length: rungs }, () => new RungStep());
    this.steps = steps();
    this.loweredFrom = steps();
    this.loweredMiddle = steps();
    this.loweredTo = steps();
  }

  get bytes(): number {
    return this.clocks.bytes;
  }

  along(stretch: Stretch): void {
    const steps = this.rates.stepsFor(stretch);
    const { from, to, lengthMinutes } = stretch;
    for (let step = 1; step < steps; step++) {
      this.end = new Conditions();
      stretch.at(from.minutes + (lengthMinutes * step) / steps, this.end);
      this.climbOrCut(stretch);
    }
    this.end = to;
    this.climbOrCut(stretch);
  }

  stepTo(at: Conditions): void {
    if (this.begun) this.addRow();
    this.begun = true;
    this.start = at;
    this.rates.fillStart(at, this.slowestRung, this.rates.rungs, this.steps);
    this.addRow();
  }

  project<T>(ahead: () => void, answer: () => T): T {
    const { start, slowestRung, slowestTarget, loweredTotal, stepsSinceRow, steps } = this;
    const rows = this.clocks.length;
    const likely = this.likely.state();
    const lowered = this.lowered.state();
    const keptSteps = steps.map((step) => ({ ...step }));
    const keptRowAt = { ...this.rowAt };
    const keptRowMiddle = { ...this.rowMiddle };
    try {
      ahead();
      this.addRow();
      const nowMinutes = this.start.minutes;
      this.likely.finish(nowMinutes, steps[this.likely.rung]?.total ?? 0, steps);
      this.loweredRates.fillStart(this.start, 0, this.rates.rungs, this.loweredTo);
      this.lowered.finish(nowMinutes, this.loweredTotal, this.loweredTo);
      return answer();
    } finally {
      this.start = start;
      this.slowestRung = slowestRung;
      this.slowestTarget = slowestTarget;
      this.loweredTotal = loweredTotal;
      this.stepsSinceRow = stepsSinceRow;
      this.clocks.cutTo(rows);
      this.likely.restore(likely);
      this.lowered.restore(lowered);
      steps.forEach((step, k) => {
        Object.assign(step, keptSteps[k]);
      });
      Object.assign(this.rowAt, keptRowAt);
      Object.assign(this.rowMiddle, keptRowMiddle);
    }
  }

  likelyMinutes(k: number): number {
    return this.likely.endedAt[k] as number;
  }

  loweredMinutes(k: number): number {
    return this.lowered.endedAt[k] as number;
  }

  /** Infinity also for rates more than 16 times slower than the likely ones: what they need is not summed. */
  minutesAtFactor(k: number, factor: number): number {
    if (!(factor * slowestShare >= this.rateFactor)) return Number.POSITIVE_INFINITY;
    let minutes = 0;
    for (let rung = 0; rung <= k && minutes < Number.POSITIVE_INFINITY; rung++) {
      minutes = this.clocks.timeOf(rung, this.clocks.totalAt(rung, minutes) + 1 / factor);
    }
    return minutes;
  }

  progressAt(minutes: number): { curePercent: number; equivalentMinutes: number } {
    const { ladderRungs: rungs, clocks } = this;
    const climbing = rungs.findIndex((_, k) => !(this.likelyMinutes(k) <= minutes));
    const below = climbing < 0 ? rungs : rungs.slice(0, climbing);
    const belowMinutes = below.reduce((sum, rung) => sum + rung.minutesAt20C, 0);
    const belowPercent = below[below.length - 1]?.curePercent ?? 0;
    if (climbing < 0) return { curePercent: belowPercent, equivalentMinutes: belowMinutes };
    const rung = rungs[climbing] as Rung;
    const enteredAt = climbing === 0 ? 0 : this.likelyMinutes(climbing - 1);
    const summed = clocks.totalAt(climbing, minutes) - clocks.totalAt(climbing, enteredAt);
    const q = Math.min(1, Math.max(0, this.rateFactor * summed));
    return {
      curePercent: percentWithin(belowPercent, rung.curePercent, q),
      equivalentMinutes: belowMinutes + q * rung.minutesAt20C,
    };
  }

  panelAt(minutes: number): number {
    return this.clocks.panelAt(minutes);
  }

  panelRange(untilMinutes: number): { coldestC: number; warmestC: number } {
    return this.clocks.panelRange(untilMinutes);
  }

  minutesUntil(amount: number, rateAt: (panelC: number) => number): number {
    return this.clocks.minutesUntil(amount, rateAt);
  }

  /** A ladder's rungs do not stall: where a rate falls to 0, its stage is never reached. */
  stallsAtPercent(): null {
    return null;
  }

  /** Climbs to `end` in one step, or in two where a rate has a corner in between. */
  private climbOrCut(stretch: Stretch): void {
    const { start, end } = this;
    const corner = this.loweredRates.mayHaveCorner(start, end)
      ? (this.rates.cornerBetween(start, end) ?? this.loweredRates.cornerBetween(start, end))
      : undefined;
    if (corner === undefined) {
      this.climb(stretch);
      return;
    }
    const cut = new Conditions();
    const minutes = signChange(start.minutes, end.minutes, corner(start), corner(end), (at) => {
      stretch.at(at, cut);
      return corner(cut);
    });
    stretch.at(minutes, cut);
    this.end = cut;
    this.climbOrCut(stretch);
    this.addRow();
    this.end = end;
    this.climbOrCut(stretch);
  }

  /** Simpson's rule on one step; the end's rates are kept as the next step's start. */
  private climb(stretch: Stretch): void {
    const { rates, clocks, steps, start, middle, end, likely } = this;
    const first = this.slowestRung;
    const { rungs } = rates;
    const length = end.minutes - start.minutes;
    stretch.midway(start, end, middle);
    rates.fillStep(middle, end, first, steps);
    if (!clocks.reaches(end, steps, first)) this.addRow();
    for (let k = first; k < rungs; k++) {
      const step = steps[k] as RungStep;
      const before = step.total;
      step.total = before + (length / 6) * (step.start + 4 * step.middle + step.end);
      if (k === likely.rung && step.total >= likely.target) this.leaveRung(step, before, length);
      step.start = step.end;
    }
    while (this.slowestRung < rungs && (steps[this.slowestRung] as RungStep).total >= this.slowestTarget) {
      this.slowestRung++;
      this.slowestTarget = (steps[this.slowestRung]?.total ?? 0) + this.slowestPerRung;
    }
    this.start = end;
    if (this.stepsSinceRow === 0) this.rowMiddle.copy(middle);
    this.stepsSinceRow++;
  }

  /** Lets the likely run leave its rung, whose sum was `before` at the start of the step, and enter the next. */
  private leaveRung(left: RungStep, before: number, length: number): void {
    const { likely, steps, start } = this;
    const x = likely.leave(before, throughMiddle(left.start, left.middle, left.end), start.minutes, length);
    const next = steps[likely.rung];
    if (next === undefined) return;
    likely.enter(next.total + length * summedAt(throughMiddle(next.start, next.middle, next.end), x));
  }

  /** Adds a row where the climb has come to, and lets the lowered run climb from the last row to it. */
  private addRow(): void {
    const { clocks, lowered, rowAt, start } = this;
    const length = start.minutes - rowAt.minutes;
    let entered = 0;
    while (length > 0 && !lowered.done) {
      const step = this.loweredStep(length);
      if (entered > 0) lowered.enter(this.loweredTotal + length * summedAt(step, entered));
      const total = this.loweredTotal + length * summedAt(step, 1);
      if (!(total >= lowered.target)) {
        this.loweredTotal = total;
        break;
      }
      entered = lowered.leave(this.loweredTotal, step, rowAt.minutes, length);
    }
    clocks.add(start, this.steps);
    rowAt.copy(start);
    this.stepsSinceRow = 0;
  }

  /**
   * The lowered run's rate on its rung between the last row and where the climb has come to. Over a single step it is
   * known at the middle too, as the likely one is. Over several, which the clocks take together only where rates hardly
   * run, its mean is the likely rate's mean times what the two differ by at both ends; of a rung that is summed no more,
   * and of one that stands still at the likely rates, it is the mean of both ends.
   */
  private loweredStep(length: number): StepCubic {
    const { loweredRates, loweredFrom, loweredMiddle, loweredTo } = this;
    const k = this.lowered.rung;
    loweredRates.fillStart(this.rowAt, k, k + 1, loweredFrom);
    loweredRates.fillStart(this.start, k, k + 1, loweredTo);
    const from = (loweredFrom[k] as RungStep).start;
    const to = (loweredTo[k] as RungStep).start;
    if (this.stepsSinceRow === 1) {
      loweredRates.fillStart(this.rowMiddle, k, k + 1, loweredMiddle);
      return throughMiddle(from, (loweredMiddle[k] as RungStep).start, to);
    }
    const { rowRate, rowTotal, start, total } = this.steps[k] as RungStep;
    const likelyEnds = rowRate + start;
    const isSummed = k >= this.slowestRung && likelyEnds > 0;
    const mean = isSummed ? ((total - rowTotal) / length) * ((from + to) / likelyEnds) : (from + to) / 2;
    return withMean(from, mean, to);
  }
}

/** Where a continuous function changes sign between two points: false position, the stale end's weight halved. */
function signChange(from: number, to: number, atFrom: number, atTo: number, f: (x: number) => number): number {
  let [low, high, fLow, fHigh] = [from, to, atFrom, atTo];
  let x = low;
  for (let round = 0; round < 100; round++) {
    x = (low * fHigh - high * fLow) / (fHigh - fLow);
    const fx = f(x);
    if (!(Math.abs(fx) > 1e-10)) return x;
    if (fx < 0 === fHigh < 0) fLow /= 2;
    else [low, fLow] = [high, fHigh];
    [high, fHigh] = [x, fx];
  }
  return x;
}
