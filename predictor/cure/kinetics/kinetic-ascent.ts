/** The climb of a coat whose sheet carries kinetics: an `Ascent` whose stages are conversions. docs/model.md describes it. */
import type { Ascent } from "../ascent.ts";
import { conversionAtFullCure } from "../percent.ts";
import type { Conditions, Stretch } from "../stretch.ts";
import { KineticLaw } from "./kinetic-law.ts";
import { KineticRun, minutesBetween } from "./kinetic-run.ts";
import { conversionOf, type KineticStage } from "./kinetic-stages.ts";
import type { Kinetics } from "./kinetics.ts";
import { RateRows } from "./rate-rows.ts";
import { type PanelNodes, RateSpan, SpanCutter } from "./rate-span.ts";

/** Equivalent minutes end here, at a hundred years: a baked coat may be where 20 °C would never bring it. Assumed. */
const mostEquivalentMinutes = 100 * 365.25 * 24 * 60;
/** Held by the glass and slower than this, a coat stands still: 0.1 % of full cure in a week. Assumed. */
const standstillPerMinute = (0.001 * conversionAtFullCure) / (7 * 24 * 60);

export interface KineticAscentOptions {
  kinetics: Kinetics;
  /** In order, percentages rising. */
  stages: readonly KineticStage[];
  /** By how much the lowered run takes every panel temperature lower. */
  uncertaintyC: number;
  /** One factor on all rates, diffusion's too. */
  rateFactor: number;
}

/** Film build, humidity and air speed do not enter: the kinetics are those of the reaction. */
export class KineticAscent implements Ascent {
  private readonly law: KineticLaw;
  private readonly rateFactor: number;
  private readonly uncertaintyC: number;
  /** Extents of the stages, and of full cure after them. */
  private readonly targets: readonly number[];
  private readonly rows: RateRows;
  private readonly cutter: SpanCutter;
  private readonly likely: KineticRun;
  private readonly lowered: KineticRun;
  private readonly span = new RateSpan();
  private readonly loweredSpan = new RateSpan();
  private nowMinutes = Number.NaN;
  private nowC = Number.NaN;

  constructor({ kinetics, stages, uncertaintyC, rateFactor }: KineticAscentOptions) {
    const law = new KineticLaw(kinetics);
    const conversions = [...stages.map(conversionOf), conversionAtFullCure];
    this.law = law;
    this.rateFactor = rateFactor;
    this.uncertaintyC = uncertaintyC;
    this.targets = conversions.map((conversion) => law.extentAt(conversion));
    this.rows = new RateRows(law.steepestRatePerK);
    this.cutter = new SpanCutter(law.steepestPerK);
    this.likely = new KineticRun(law, this.targets, rateFactor);
    this.lowered = new KineticRun(law, this.targets, rateFactor);
  }

  get bytes(): number {
    return this.rows.bytes;
  }

  stepTo({ minutes, panelC }: Conditions): void {
    const { law } = this;
    this.nowMinutes = minutes;
    this.nowC = panelC;
    this.rows.step(minutes, panelC, law.firstAt(panelC), law.secondAt(panelC), this.likely.extent);
  }

  along(stretch: Stretch): void {
    this.cutter.cut(stretch, this.climb);
  }

  project<T>(ahead: () => void, answer: () => T): T {
    const { nowMinutes, nowC, likely, lowered, rows, uncertaintyC } = this;
    const keptRows = rows.state();
    const keptLikely = likely.state();
    const keptLowered = lowered.state();
    rows.seal();
    try {
      ahead();
      likely.hold(this.nowMinutes, this.nowC);
      lowered.hold(this.nowMinutes, this.nowC - uncertaintyC);
      return answer();
    } finally {
      rows.restore(keptRows);
      likely.restore(keptLikely);
      lowered.restore(keptLowered);
      this.nowMinutes = nowMinutes;
      this.nowC = nowC;
    }
  }

  likelyMinutes(k: number): number {
    return this.likely.endedAt[k] as number;
  }

  loweredMinutes(k: number): number {
    return this.lowered.endedAt[k] as number;
  }

  /** A run from the finish over the rows, and then at the last temperature. */
  minutesAtFactor(k: number, factor: number): number {
    if (!(factor > 0)) return Number.POSITIVE_INFINITY;
    const run = new KineticRun(this.law, [this.targets[k] as number], factor);
    const { rows, span } = this;
    for (let row = 1; row < rows.length && !run.done; row++) {
      rows.read(row, span);
      if (span.lengthMinutes > 0) run.along(span);
    }
    if (!run.done) run.hold(this.nowMinutes, this.nowC);
    return run.endedAt[0] as number;
  }

  progressAt(minutes: number): { curePercent: number; equivalentMinutes: number } {
    const { law } = this;
    const extent = this.likelyExtentAt(minutes);
    const worth = minutesBetween(law, law.initialExtent, extent, 20);
    return {
      curePercent: Math.min(100, (100 * law.conversionAt(extent)) / conversionAtFullCure),
      equivalentMinutes: Math.min(mostEquivalentMinutes, worth),
    };
  }

  panelAt(minutes: number): number {
    return this.rows.panelAt(minutes);
  }

  panelRange(untilMinutes: number): { coldestC: number; warmestC: number } {
    return this.rows.panelRange(untilMinutes);
  }

  minutesUntil(amount: number, rateAt: (panelC: number) => number): number {
    return this.rows.minutesUntil(amount, rateAt);
  }

  /**
   * Where, at the last temperature, the glass lets the coat gain no more than 0.1 % in a week (assumed), or where it is
   * when that is so already; null where it goes on to full cure, and for kinetics without a glass.
   */
  stallsAtPercent(): number | null {
    const { law, nowC } = this;
    const standsStill = (conversion: number) =>
      law.isVitrified(conversion, nowC) &&
      !(this.rateFactor * law.ratePerMinute(conversion, nowC) > standstillPerMinute);
    let moving = law.conversionAt(this.likely.extent);
    let still = conversionAtFullCure;
    if (this.likely.done || !standsStill(still)) return null;
    if (standsStill(moving)) return (100 * moving) / conversionAtFullCure;
    while (still - moving > 1e-9) {
      const middle = (moving + still) / 2;
      if (standsStill(middle)) still = middle;
      else moving = middle;
    }
    return (100 * still) / conversionAtFullCure;
  }

  private readonly climb = ({ startMinutes, lengthMinutes, startC, middleC, endC }: PanelNodes): void => {
    const { law, span, loweredSpan, uncertaintyC, likely, lowered } = this;
    span.startMinutes = loweredSpan.startMinutes = startMinutes;
    span.lengthMinutes = loweredSpan.lengthMinutes = lengthMinutes;
    span.fill(law, startC, middleC, endC);
    likely.along(span);
    if (!lowered.done) {
      loweredSpan.fill(law, startC - uncertaintyC, middleC - uncertaintyC, endC - uncertaintyC);
      lowered.along(loweredSpan);
    }
    this.rows.append(span, likely.extent);
    this.nowMinutes = startMinutes + lengthMinutes;
    this.nowC = endC;
  };

  private likelyExtentAt(minutes: number): number {
    const { law, rows, span, rateFactor } = this;
    const full = this.targets[this.targets.length - 1] as number;
    const row = Math.max(1, rows.rowAt(minutes));
    if (row < rows.length) {
      rows.read(row, span);
    } else {
      span.startMinutes = this.nowMinutes;
      span.lengthMinutes = minutes - this.nowMinutes;
      span.fill(law, this.nowC, this.nowC, this.nowC);
    }
    const since = minutes - span.startMinutes;
    const run = new KineticRun(law, [full], rateFactor);
    run.extent = rows.extentOf(Math.min(row, rows.length) - 1);
    if (since > 0) run.along(span, Math.min(1, since / span.lengthMinutes));
    return run.extent;
  }
}
