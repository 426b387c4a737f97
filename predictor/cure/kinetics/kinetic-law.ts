/** Kinetics made ready for the inner loop: rate constants over temperature, and how fast the extent grows. */
import { quickExp } from "../quick-exp.ts";
import { gasConstantJPerMolK, kelvinAt0C } from "../time-curve.ts";
import type { Glass, Kinetics } from "./kinetics.ts";

/** Below this, in kelvin, the bound on how steeply a rate runs no longer holds strictly. */
const coldestK = 263.15;

/**
 * The reaction is followed in its extent g = ∫dα/(1 − α)^n and not in α: dg/dt = k has neither the sharp end of an order
 * below 1 nor the long tail of one above, and for n-th order it depends on temperature alone.
 */
export class KineticLaw {
  readonly initialExtent: number;
  /** Upper bound, from −10 °C up, on how steeply the logarithm of a rate constant runs over temperature, per K. */
  readonly steepestPerK: number;
  /** The same of a rate, with the hold of the glass in it. */
  readonly steepestRatePerK: number;
  private readonly order: number;
  /** ln of A in 1/min and E/R in K, of k1 and of k2. */
  private readonly lnFirst: number;
  private readonly firstK: number;
  private readonly secondPerMinute: number;
  private readonly secondK: number;
  private readonly autocatalyticOrder: number;
  private readonly glass: Glass | undefined;

  constructor(kinetics: Kinetics) {
    const { order, reaction, glass } = kinetics;
    const autocatalytic = kinetics.model === "kamal-sourour" ? kinetics : undefined;
    this.order = order;
    this.lnFirst = Math.log(60 * reaction.preExponentialPerSecond);
    this.firstK = (1000 * reaction.activationEnergyKJ) / gasConstantJPerMolK;
    this.secondPerMinute = 60 * (autocatalytic?.autocatalysis.preExponentialPerSecond ?? 0);
    this.secondK = (1000 * (autocatalytic?.autocatalysis.activationEnergyKJ ?? 0)) / gasConstantJPerMolK;
    this.autocatalyticOrder = autocatalytic?.autocatalyticOrder ?? 1;
    this.glass = glass;
    this.initialExtent = this.extentAt(kinetics.initialConversion);
    this.steepestPerK = Math.max(this.firstK, this.secondK) / (coldestK * coldestK);
    this.steepestRatePerK = this.steepestPerK + (glass === undefined ? 0 : glass.wlfC1 / glass.wlfC2K);
  }

  /** k1 in 1/min at a panel temperature in °C above −273.15. */
  firstAt(panelC: number): number {
    return quickExp(this.lnFirst - this.firstK / (panelC + kelvinAt0C));
  }

  /** k2 in 1/min; 0 for n-th order. */
  secondAt(panelC: number): number {
    return this.secondPerMinute === 0 ? 0 : this.secondPerMinute * quickExp(-this.secondK / (panelC + kelvinAt0C));
  }

  /** The extent at a conversion of 0 up to, not including, 1. */
  extentAt(conversion: number): number {
    const rest = 1 - this.order;
    const ln = Math.log1p(-conversion);
    return rest === 0 ? -ln : -Math.expm1(rest * ln) / rest;
  }

  /** The conversion at an extent from 0 up; 1 where an order below 1 has come to its end. */
  conversionAt(extent: number): number {
    const rest = 1 - this.order;
    if (rest === 0) return 1 - quickExp(-extent);
    if (rest === -1) return extent / (1 + extent);
    const left = 1 - rest * extent;
    return left > 0 ? 1 - quickExp(Math.log(left) / rest) : 1;
  }

  /** Growth of the extent per minute, where k1 and k2 are known already. */
  growth(extent: number, first: number, second: number, panelC: number): number {
    if (second === 0 && this.glass === undefined) return first;
    const conversion = this.conversionAt(extent);
    const chemical = this.chemical(conversion, first, second);
    if (this.glass === undefined) return chemical;
    const diffusion = diffusionPerMinute(this.glass, conversion, panelC);
    return (chemical * diffusion) / (chemical + diffusion);
  }

  /** Growth of the extent per minute at a panel temperature. */
  growthAt(extent: number, panelC: number): number {
    return this.growth(extent, this.firstAt(panelC), this.secondAt(panelC), panelC);
  }

  /** dα/dt in 1/min; for conversions 0…1 and temperatures in °C above −273.15. */
  ratePerMinute(conversion: number, panelC: number): number {
    return this.growthAt(this.extentAt(conversion), panelC) * (1 - conversion) ** this.order;
  }

  /** Whether the glass and not the reaction sets the pace. */
  isVitrified(conversion: number, panelC: number): boolean {
    const chemical = this.chemical(conversion, this.firstAt(panelC), this.secondAt(panelC));
    return this.glass !== undefined && diffusionPerMinute(this.glass, conversion, panelC) < chemical;
  }

  /** k1 + k2·α^m. */
  private chemical(conversion: number, first: number, second: number): number {
    if (second === 0 || !(conversion > 0)) return first;
    if (this.autocatalyticOrder === 1) return first + second * conversion;
    return first + second * quickExp(this.autocatalyticOrder * Math.log(conversion));
  }
}

/** T_g in °C at a conversion, after DiBenedetto: (T_g − T_g0)/(T_g1 − T_g0) = λα/(1 − (1 − λ)α). */
export function glassTransitionC({ tgUncuredC, tgCuredC, lambda }: Glass, conversion: number): number {
  return tgUncuredC + ((tgCuredC - tgUncuredC) * lambda * conversion) / (1 - (1 - lambda) * conversion);
}

function diffusionPerMinute(glass: Glass, conversion: number, panelC: number): number {
  const aboveK = panelC - glassTransitionC(glass, conversion);
  return 60 * glass.diffusionAtTgPerSecond * quickExp((glass.wlfC1 * aboveK) / (glass.wlfC2K + Math.abs(aboveK)));
}
