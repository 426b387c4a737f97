/**
 * Integrates the rates of a ladder along stretches of time: what each rung alone would have climbed, the likely run,
 * and the same run with every panel temperature lowered by the sensor's uncertainty.
 */
import { Run } from "./run.ts";
import { RungClocks } from "./rung-clocks.ts";
import type { RungRates } from "./rung-rates.ts";
import { summedAt, throughMiddle } from "./step-cubic.ts";
import { Conditions, type Stretch } from "./stretch.ts";

/** A safe time may be asked for up to rates this many times slower than the likely ones; assumed. */
export const slowestShare = 64;

export class Ascent {
  readonly clocks: RungClocks;
  readonly likely: Run;
  readonly lowered: Run;
  /** The first rung that the slowest run for which a safe time may be asked has not left: those before stand still. */
  private slowestRung = 0;
  private slowestTarget: number;
  private readonly slowestPerRung: number;
  private readonly rates: RungRates;
  private readonly loweredRates: RungRates;
  /**
   * What each rung's rate has summed up to since the finish. Here and in the rates, the last value, after those of the
   * rungs, is the lowered run's: what the rates of the rungs it was on have summed up to.
   */
  private readonly totals: Float64Array;
  /** Where the climb has come to, and the middle and end of the step under way; the caller's own objects at the ends. */
  private start = new Conditions();
  private readonly middle = new Conditions();
  private end = this.start;
  private startRates: Float64Array;
  private readonly middleRates: Float64Array;
  private endRates: Float64Array;
  private begun = false;

  constructor(rates: RungRates, loweredRates: RungRates, rateFactor: number) {
    const buffer = () => new Float64Array(rates.rungs + 1);
    this.rates = rates;
    this.loweredRates = loweredRates;
    this.clocks = new RungClocks(rates.rungs);
    this.likely = new Run(rates.rungs, rateFactor);
    this.lowered = new Run(rates.rungs, rateFactor);
    this.slowestPerRung = slowestShare / rateFactor;
    this.slowestTarget = this.slowestPerRung;
    this.totals = buffer();
    this.startRates = buffer();
    this.middleRates = buffer();
    this.endRates = buffer();
  }

  /** Minutes since the finish that the climb has come to. */
  get now(): number {
    return this.start.minutes;
  }

  /** Climbs along a stretch that begins where the last one ended; its end must stay as it is until the next. */
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

  /** Takes over other conditions at once, without time passing; they must stay as they are until the next stretch. */
  stepTo(at: Conditions): void {
    if (this.begun) this.clocks.add(this.start, this.totals, this.startRates);
    this.begun = true;
    this.start = at;
    const { rungs } = this.rates;
    this.rates.fill(at, this.slowestRung, rungs, this.slowestRung, this.startRates);
    if (!this.lowered.done) this.fillLowered(at, this.startRates);
    this.clocks.add(at, this.totals, this.startRates);
  }

  /**
   * Lets `ahead` climb on under conditions to come, then holds the last ones for ever, reads the answer off, and puts
   * everything back as it was.
   */
  project<T>(ahead: () => void, answer: () => T): T {
    const { start, slowestRung, slowestTarget, startRates, endRates, totals } = this;
    const rows = this.clocks.length;
    const likely = this.likely.state();
    const lowered = this.lowered.state();
    const [keptRates, keptTotals] = [startRates.slice(), totals.slice()];
    try {
      ahead();
      this.clocks.add(this.start, totals, this.startRates);
      this.likely.finish(this.now, (k) => totals[k] as number, this.startRates);
      const { rungs } = this.rates;
      this.loweredRates.fill(this.start, 0, rungs, 0, this.middleRates);
      this.lowered.finish(this.now, () => totals[rungs] as number, this.middleRates);
      return answer();
    } finally {
      this.start = start;
      this.slowestRung = slowestRung;
      this.slowestTarget = slowestTarget;
      this.clocks.cutTo(rows);
      this.likely.restore(likely);
      this.lowered.restore(lowered);
      startRates.set(keptRates);
      totals.set(keptTotals);
      this.startRates = startRates;
      this.endRates = endRates;
    }
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
    this.end = end;
    this.climbOrCut(stretch);
  }

  /** Simpson's rule on one step; the end's rates are kept as the next step's start. */
  private climb(stretch: Stretch): void {
    const { rates, totals, start, middle, end, startRates, middleRates, endRates, likely, lowered } = this;
    const first = this.slowestRung;
    const { rungs } = rates;
    stretch.midway(start, end, middle);
    rates.fillStep(middle, end, first, rungs, first, middleRates, endRates);
    if (!lowered.done) {
      this.loweredRates.fillStep(middle, end, lowered.rung, lowered.rung + 1, rungs, middleRates, endRates);
    }
    if (!this.clocks.reaches(end, endRates, first)) this.clocks.add(start, totals, startRates);
    const sixth = (end.minutes - start.minutes) / 6;
    for (let k = first; k <= rungs; k++) {
      const sum = (startRates[k] as number) + 4 * (middleRates[k] as number) + (endRates[k] as number);
      totals[k] = (totals[k] as number) + sixth * sum;
    }
    while (likely.rung < rungs && (totals[likely.rung] as number) >= likely.target) {
      const x = this.leaveRung(likely, likely.rung);
      if (!likely.done) this.enterRung(likely, likely.rung, x);
    }
    while (lowered.rung < rungs && (totals[rungs] as number) >= lowered.target) {
      const x = this.leaveRung(lowered, rungs);
      if (!lowered.done) this.enterLowered(x);
    }
    while (this.slowestRung < rungs && (totals[this.slowestRung] as number) >= this.slowestTarget) {
      this.slowestRung++;
      this.slowestTarget = (totals[this.slowestRung] as number) + this.slowestPerRung;
    }
    this.start = end;
    this.startRates = endRates;
    this.endRates = startRates;
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
