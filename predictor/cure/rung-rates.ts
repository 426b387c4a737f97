/** How fast each rung of a ladder is climbed under given conditions, in rungs a minute. */
import { lnSaturation, lnSaturationRatio } from "../air/humidity.ts";
import type { Ladder } from "./ladder.ts";
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

export class RungRates {
  readonly rungs: number;
  private readonly offsetC: number;
  private readonly kind: Uint8Array;
  /** ln rate = lnRate − slopeK/T for reaction and moisture, a row for each segment between anchors; by build already. */
  private readonly lnRate: Float64Array;
  private readonly slopeK: Float64Array;
  /** Rate of a water or solvent rung over e^(ln vapour pressure) and the air-speed term; by build already. */
  private readonly scale: Float64Array;
  private readonly sensitivity: Float64Array;
  private readonly anchorsC: readonly number[];
  /** Upper bound, from -10 °C up, on how steeply any rate's logarithm runs over the panel's temperature. */
  private readonly steepestPerK: number;
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
    const segments = Math.max(1, anchorsC.length - 1);
    this.rungs = rungs.length;
    this.offsetC = offsetC;
    this.anchorsC = anchorsC;
    this.kind = new Uint8Array(rungs.length);
    this.lnRate = new Float64Array(segments * rungs.length);
    this.slopeK = new Float64Array(segments * rungs.length);
    this.scale = new Float64Array(rungs.length);
    this.sensitivity = Float64Array.from(rungs, (rung) => (rung.by === "moisture" ? 1 : rung.humiditySensitivity));
    const referenceAirTerm = stillAirTerm + airSpeedTerm * airSpeedMps;
    let steepestK = 0;
    rungs.forEach((rung, k) => {
      const slowerByBuild = (filmUm / ladder.filmUm) ** rung.filmExponent;
      if (rung.by === "water" || rung.by === "solvent") {
        const lnReference =
          rung.by === "water" ? Math.log(0.5) + lnSaturation(rung.referenceC) : lnSolventPressure(rung.referenceC);
        this.kind[k] = rung.by === "water" ? water : solvent;
        this.scale[k] = Math.exp(-lnReference) / (rung.minutesAtReference * referenceAirTerm * slowerByBuild);
        steepestK = Math.max(steepestK, solventSlopeK);
        return;
      }
      this.kind[k] = reaction;
      for (let segment = 0; segment < segments; segment++) {
        const line = rung.curve.lines[segment] as LnLine;
        this.lnRate[segment * this.rungs + k] = -line.intercept - Math.log(slowerByBuild);
        this.slopeK[segment * this.rungs + k] = line.slopeK;
        steepestK = Math.max(steepestK, Math.abs(line.slopeK));
      }
    });
    const kinds = [...this.kind];
    const sensitivities = [...this.sensitivity].filter((beta, k) => beta !== 0 && this.kind[k] === reaction);
    this.needsWater = sensitivities.length > 0 || kinds.includes(water);
    this.steepestPerK = steepestK / (coldestK * coldestK) + (this.needsWater ? vapourSlopePerK : 0);
    this.needsAirSpeed = kinds.some((kind) => kind !== reaction);
    const stops = sensitivities.filter((beta) => Math.abs(beta) > 1).map((beta) => 0.5 - 0.5 / beta);
    this.waterCorners = this.needsWater ? [1, ...stops] : [];
    this.hasCorners = this.waterCorners.length > 0 || anchorsC.length > 2;
    this.onlySaturation = this.waterCorners.length === 1 && anchorsC.length <= 2;
  }

  /** Rates of rungs `first` up to, not including, `last` at one instant; that of `first` goes to `slot`. */
  fill(at: Conditions, first: number, last: number, slot: number, out: Float64Array): void {
    const { kind, lnRate, slopeK, sensitivity } = this;
    const inverseK = 1 / (at.panelC + this.offsetC + kelvinAt0C);
    const row = this.rowAt(at);
    const activity = this.needsWater ? this.waterActivity(at) : 0.5;
    const damp = 2 * Math.min(1, activity) - 1;
    for (let k = first; k < last; k++) {
      if (kind[k] === reaction) {
        const dry = quickExp((lnRate[row + k] as number) - (slopeK[row + k] as number) * inverseK);
        out[slot + k - first] = dry * Math.max(0, 1 + (sensitivity[k] as number) * damp);
      } else out[slot + k - first] = this.evaporation(k, at, activity);
    }
  }

  /**
   * The same at the middle and end of a step without a corner, the middle's by way of the end's, which is close; the
   * rate of `first` goes to `slot`.
   */
  fillStep(
    middle: Conditions,
    end: Conditions,
    first: number,
    last: number,
    slot: number,
    atMiddle: Float64Array,
    atEnd: Float64Array,
  ): void {
    const { kind, lnRate, slopeK, sensitivity } = this;
    const inverseMiddleK = 1 / (middle.panelC + this.offsetC + kelvinAt0C);
    const inverseEndK = 1 / (end.panelC + this.offsetC + kelvinAt0C);
    const row = this.rowAt(middle);
    let middleActivity = 0.5;
    let endActivity = 0.5;
    if (this.needsWater) {
      const lnRatio = this.lnVapourRatio(end);
      const ratio = quickExp(lnRatio);
      endActivity = (end.rhPercent / 100) * ratio;
      middleActivity = (middle.rhPercent / 100) * ratio * nearExp(this.lnVapourRatio(middle) - lnRatio);
    }
    const middleDamp = 2 * Math.min(1, middleActivity) - 1;
    const endDamp = 2 * Math.min(1, endActivity) - 1;
    for (let k = first, out = slot; k < last; k++, out++) {
      if (kind[k] === reaction) {
        const slope = slopeK[row + k] as number;
        const beta = sensitivity[k] as number;
        const dry = quickExp((lnRate[row + k] as number) - slope * inverseEndK);
        atEnd[out] = dry * Math.max(0, 1 + beta * endDamp);
        atMiddle[out] = dry * nearExp(slope * (inverseEndK - inverseMiddleK)) * Math.max(0, 1 + beta * middleDamp);
      } else {
        atMiddle[out] = this.evaporation(k, middle, middleActivity);
        atEnd[out] = this.evaporation(k, end, endActivity);
      }
    }
  }

  private rowAt(at: Conditions): number {
    return this.anchorsC.length > 2 ? segmentAt(this.anchorsC, at.panelC + this.offsetC) * this.rungs : 0;
  }

  private evaporation(k: number, at: Conditions, activity: number): number {
    const panelC = at.panelC + this.offsetC;
    const airTerm = (stillAirTerm + airSpeedTerm * at.airSpeedMps) * (this.scale[k] as number);
    if (this.kind[k] === solvent) return airTerm * quickExp(lnSolventPressure(panelC));
    return airTerm * quickExp(lnSaturation(panelC)) * Math.max(0, 1 - activity);
  }

  private lnVapourRatio(at: Conditions): number {
    return lnSaturationRatio(at.airC, at.panelC + this.offsetC);
  }

  /** Water activity at the panel before it is cut off at 1: above 1 water condenses on it. */
  private waterActivity(at: Conditions): number {
    return (at.rhPercent / 100) * quickExp(this.lnVapourRatio(at));
  }

  /** How many equal steps a stretch must be cut into for an integral good to 1e-8. */
  stepsFor(stretch: Stretch): number {
    const { from, to } = stretch;
    const slope = this.steepestPerK;
    let change = slope * stretch.panelTravelC();
    if (this.needsWater) {
      const dampest = Math.max(1, Math.min(from.rhPercent, to.rhPercent));
      change += vapourSlopePerK * Math.abs(to.airC - from.airC) + Math.abs(to.rhPercent - from.rhPercent) / dampest;
    }
    if (this.needsAirSpeed) change += Math.abs(to.airSpeedMps - from.airSpeedMps);
    if (stretch.lagMinutes > 0) {
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

/** Differences below a billionth count as on the corner, so that a stretch cut there is not cut again. */
function changesSign(a: number, b: number): boolean {
  return (a > 1e-9 && b < -1e-9) || (a < -1e-9 && b > 1e-9);
}
