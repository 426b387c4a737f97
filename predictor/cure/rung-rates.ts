/** How fast each rung of a ladder is climbed under given conditions, in rungs a minute. */
import { lnSaturation, lnSaturationRatio } from "../air/humidity.ts";
import type { Ladder, Rung } from "./ladder.ts";
import { nearExp, quickExp } from "./quick-exp.ts";
import { lnSolventPressure } from "./solvent.ts";
import type { Conditions, Stretch } from "./stretch.ts";
import { kelvinAt0C, type LnLine, segmentAt } from "./time-curve.ts";

/** What a rung waits for, as the inner loop sees it: moisture is a reaction with a humidity sensitivity of 1. */
const reaction = 0;
const water = 1;
const solvent = 2;

/** Air-speed term of Carrier's evaporation equation, m/s (ASHRAE Handbook, Applications; from memory). */
const stillAirTerm = 0.089;
const airSpeedTerm = 0.0782;

/** Largest change of a rate's logarithm in one step of Simpson's rule: its error, x⁴/2880, is then below 1e-8. */
const stepChange = 0.07;
/** The steepest that ln of a vapour pressure runs over temperature, per K, in the range of shop air. */
const vapourSlopePerK = 0.075;
/** The solvent's vapour pressure as if it were a reaction with this activation temperature: an upper bound from 0 °C up. */
const solventSlopeK = 5600;

/** Below this, in kelvin, the bound on a rate's slope that steps are cut by no longer holds strictly. */
const coldestK = 263.15;

/**
 * One rung's rate at the start, middle and end of the step under way, and what it has summed up to. Here and in
 * `RungLaw` one object for each rung, because V8 reads its numbers with less ado than those of several typed arrays.
 */
export class RungStep {
  start = Number.NaN;
  middle = Number.NaN;
  end = Number.NaN;
  total = 0;
  /** Rate and total at the last row of the clocks. */
  rowRate = Number.NaN;
  rowTotal = 0;
}

/** What a rung's rate follows between two anchors of the sheet. */
class RungLaw {
  kind: number = reaction;
  /** ln rate = lnRate − slopeK/T for reaction and moisture; by build already. */
  lnRate = Number.NaN;
  slopeK = Number.NaN;
  sensitivity = Number.NaN;
  /** Rate of a water or solvent rung over e^(ln vapour pressure) and the air-speed term; by build already. */
  scale = Number.NaN;
}

export class RungRates {
  readonly rungs: number;
  /** Kelvin of a panel that is told as 0 °C. */
  private readonly zeroK: number = Number.NaN;
  private readonly offsetC: number = Number.NaN;
  /** A row of laws for each segment between anchors. */
  private readonly laws: RungLaw[][];
  private readonly anchorsC: readonly number[];
  /** Upper bound, from -10 °C up, on how steeply any rate's logarithm runs over the panel's temperature. */
  private readonly steepestPerK: number = Number.NaN;
  private readonly needsWater: boolean;
  private readonly needsAirSpeed: boolean;
  /** Water activities at which a rate has a corner: the panel turns wet, or humidity stops a reaction. */
  private readonly waterCorners: number[];
  private readonly hasCorners: boolean;
  private readonly onlySaturation: boolean;

  /** With every panel temperature taken `offsetC` higher than it is told. */
  constructor(ladder: Ladder, filmUm: number, offsetC = 0) {
    if (!(filmUm > 0 && Number.isFinite(filmUm))) throw new RangeError(`filmUm must be above 0, found ${filmUm}`);
    const { rungs, anchorsC, airSpeedMps } = ladder;
    this.rungs = rungs.length;
    this.offsetC = offsetC;
    this.zeroK = kelvinAt0C + offsetC;
    this.anchorsC = anchorsC;
    const referenceAirTerm = stillAirTerm + airSpeedTerm * airSpeedMps;
    const lawOf = (rung: Rung, segment: number): RungLaw => {
      const law = new RungLaw();
      const slowerByBuild = (filmUm / ladder.filmUm) ** rung.filmExponent;
      if (rung.by === "water" || rung.by === "solvent") {
        const lnReference =
          rung.by === "water" ? Math.log(0.5) + lnSaturation(rung.referenceC) : lnSolventPressure(rung.referenceC);
        law.kind = rung.by === "water" ? water : solvent;
        law.scale = Math.exp(-lnReference) / (rung.minutesAtReference * referenceAirTerm * slowerByBuild);
        law.slopeK = solventSlopeK;
        law.sensitivity = 0;
        return law;
      }
      const line = rung.curve.lines[segment] as LnLine;
      law.lnRate = -line.intercept - Math.log(slowerByBuild);
      law.slopeK = line.slopeK;
      law.sensitivity = rung.by === "moisture" ? 1 : rung.humiditySensitivity;
      return law;
    };
    const segments = Math.max(1, anchorsC.length - 1);
    this.laws = Array.from({ length: segments }, (_, segment) => rungs.map((rung) => lawOf(rung, segment)));
    const all = this.laws.flat();
    const steepestK = Math.max(0, ...all.map(({ slopeK }) => Math.abs(slopeK)));
    const sensitivities = all.map(({ sensitivity }) => sensitivity).filter((beta) => beta !== 0);
    this.needsWater = sensitivities.length > 0 || all.some(({ kind }) => kind === water);
    this.steepestPerK = steepestK / (coldestK * coldestK) + (this.needsWater ? vapourSlopePerK : 0);
    this.needsAirSpeed = all.some(({ kind }) => kind !== reaction);
    const stops = sensitivities.filter((beta) => Math.abs(beta) > 1).map((beta) => 0.5 - 0.5 / beta);
    this.waterCorners = this.needsWater ? [1, ...new Set(stops)] : [];
    this.hasCorners = this.waterCorners.length > 0 || anchorsC.length > 2;
    this.onlySaturation = this.waterCorners.length === 1 && anchorsC.length <= 2;
  }

  /** Rates of rungs `first` up to, not including, `last` at one instant, to the start of their steps. */
  fillStart(at: Conditions, first: number, last: number, steps: readonly RungStep[]): void {
    const laws = this.lawsAt(at);
    const inverseK = 1 / (at.panelC + this.zeroK);
    const activity = this.needsWater ? this.waterActivity(at) : 0.5;
    const damp = dampOf(activity);
    for (let k = first; k < last; k++) {
      const law = laws[k] as RungLaw;
      (steps[k] as RungStep).start =
        law.kind === reaction
          ? quickExp(law.lnRate - law.slopeK * inverseK) * orNone(1 + law.sensitivity * damp)
          : this.evaporation(law, at, activity);
    }
  }

  /** The same at the middle and end of a step without a corner, the middle's by way of the end's, which is close. */
  fillStep(middle: Conditions, end: Conditions, first: number, steps: readonly RungStep[]): void {
    const laws = this.lawsAt(middle);
    const inverseEndK = 1 / (end.panelC + this.zeroK);
    const change = inverseEndK - 1 / (middle.panelC + this.zeroK);
    let middleActivity = 0.5;
    let endActivity = 0.5;
    if (this.needsWater) {
      const lnRatio = this.lnVapourRatio(end);
      const ratio = 0.01 * quickExp(lnRatio);
      endActivity = end.rhPercent * ratio;
      middleActivity = middle.rhPercent * ratio * nearExp(this.lnVapourRatio(middle) - lnRatio);
    }
    const middleDamp = dampOf(middleActivity);
    const endDamp = dampOf(endActivity);
    for (let k = first; k < steps.length; k++) {
      const law = laws[k] as RungLaw;
      const step = steps[k] as RungStep;
      if (law.kind === reaction) {
        const { slopeK, sensitivity } = law;
        const dry = quickExp(law.lnRate - slopeK * inverseEndK);
        step.end = dry * orNone(1 + sensitivity * endDamp);
        step.middle = dry * nearExp(slopeK * change) * orNone(1 + sensitivity * middleDamp);
      } else {
        step.middle = this.evaporation(law, middle, middleActivity);
        step.end = this.evaporation(law, end, endActivity);
      }
    }
  }

  private lawsAt(at: Conditions): readonly RungLaw[] {
    const segment = this.laws.length > 1 ? segmentAt(this.anchorsC, at.panelC + this.offsetC) : 0;
    return this.laws[segment] as readonly RungLaw[];
  }

  private evaporation({ kind, scale }: RungLaw, at: Conditions, activity: number): number {
    const panelC = at.panelC + this.offsetC;
    const airTerm = (stillAirTerm + airSpeedTerm * at.airSpeedMps) * scale;
    if (kind === solvent) return airTerm * quickExp(lnSolventPressure(panelC));
    return airTerm * quickExp(lnSaturation(panelC)) * orNone(1 - activity);
  }

  private lnVapourRatio(at: Conditions): number {
    return lnSaturationRatio(at.airC, at.panelC + this.offsetC);
  }

  /** Water activity at the panel before it is cut off at 1: above 1 water condenses on it. */
  private waterActivity(at: Conditions): number {
    return at.rhPercent * 0.01 * quickExp(this.lnVapourRatio(at));
  }

  /** How many equal steps a stretch must be cut into for an integral good to 1e-8. */
  stepsFor(stretch: Stretch): number {
    const { from, to } = stretch;
    const slope = this.steepestPerK;
    let change = slope * stretch.panelTravelC;
    if (this.needsWater) {
      const dampest = Math.max(1, Math.min(from.rhPercent, to.rhPercent));
      change += vapourSlopePerK * Math.abs(to.airC - from.airC) + Math.abs(to.rhPercent - from.rhPercent) / dampest;
    }
    if (this.needsAirSpeed) change += Math.abs(to.airSpeedMps - from.airSpeedMps);
    if (stretch.lengthMinutes > stepChange * stretch.lagMinutes && stretch.lagMinutes > 0) {
      const settling = Math.min(1, Math.sqrt(Math.sqrt(slope * Math.abs(stretch.lagC))));
      change = Math.max(change, (settling * stretch.lengthMinutes) / stretch.lagMinutes);
    }
    return change <= stepChange ? 1 : Math.ceil(change / stepChange);
  }

  /**
   * Whether some rate has a corner between two conditions: the first distance from one found that changes sign, as a
   * function of conditions; undefined where all rates run smoothly.
   */
  cornerBetween(a: Conditions, b: Conditions): ((at: Conditions) => number) | undefined {
    for (let inner = 1; inner < this.anchorsC.length - 1; inner++) {
      const anchorC = (this.anchorsC[inner] as number) - this.offsetC;
      if (changesSign(a.panelC - anchorC, b.panelC - anchorC)) return (at) => at.panelC - anchorC;
    }
    for (const corner of this.waterCorners) {
      if (changesSign(this.waterActivity(a) - corner, this.waterActivity(b) - corner)) {
        return (at) => this.waterActivity(at) - corner;
      }
    }
    return undefined;
  }

  /**
   * Cheap first look: false where all rates surely run smoothly, with this panel and with any warmer one. Where
   * saturation is the only corner, a panel no more than 3 K below air of up to 65 % RH stays dry.
   */
  mayHaveCorner(a: Conditions, b: Conditions): boolean {
    if (!this.onlySaturation) return this.hasCorners;
    if (a.rhPercent > 65 || b.rhPercent > 65) return true;
    return a.panelC + this.offsetC < a.airC - 3 || b.panelC + this.offsetC < b.airC - 3;
  }
}

/** How much damper than 50 % the panel is, −1…1: a wet one is no damper than at 100 %. */
function dampOf(activity: number): number {
  return activity > 1 ? 1 : 2 * activity - 1;
}

/** A rate, 0 at least; NaN stays NaN. */
function orNone(rate: number): number {
  return Math.max(0, rate);
}

/** Differences below a billionth count as on the corner, so that a stretch cut there is not cut again. */
function changesSign(a: number, b: number): boolean {
  return (a > 1e-9 && b < -1e-9) || (a < -1e-9 && b > 1e-9);
}
