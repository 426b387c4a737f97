/** What a shop's own checks say about a sheet: one factor on all its rates, with how sure it is. */
import { lnNormalShare } from "./normal.ts";
import { usualSheetSigma } from "./uncertainty.ts";

/** What one check says. */
export interface CheckFinding {
  /**
   * ln of the one factor on the sheet's own rates that would have put the stage exactly at the check's instant. ∞ where
   * no factor would (the stage is out of reach under these conditions), −∞ where any would (a check at the finish).
   */
  lnFactor: number;
  /** The stage was found ready; false for not yet. */
  ready: boolean;
}

export interface Lesson {
  /** Mean of ln(factor on the sheet's rates): below 0 the shop is slower than the sheet. */
  lnFactor: number;
  /** Its standard deviation; takes the place of the sheet's own. */
  sigma: number;
  /** What safe goes by: `lnFactor` less what the prior pulls it towards the sheet, at most half a `sigma` further out. */
  lnSafeFactor: number;
  /** How many checks say something. */
  checks: number;
}

/** Standard deviation of ln(time) with which a person tells ready from not yet; assumed. */
export const checkSigma = 0.12;
/** ln f from −1.5 to 1.5 on 601 points, 0.005 apart, 0 among them. */
const gridReach = 1.5;
const gridPoints = 601;
/** A factor beyond e to this is no number any more: as good as infinite. */
const largestLnFactor = 700;

/**
 * The posterior of ln f on a grid: prior N(0, sheetSigma²), and for each check P(ready) = Φ((ln f − ln f*)/0.12).
 * Without checks it is the prior itself: 0 and `sheetSigma`. A check with an infinite factor leaves every f equally
 * likely, or equally impossible, and so says nothing; it is not counted. A sheet with `sheetSigma` 0 is taken at its
 * word whatever the checks say. Throws a RangeError for a factor that is no number or a sigma that is none or below 0.
 */
export function learn(findings: readonly CheckFinding[], sheetSigma = usualSheetSigma): Lesson {
  const learner = new Learner(sheetSigma);
  for (const finding of findings) learner.take(finding);
  return learner.lesson();
}

/** The same, check by check: what is known after each. Throws as `learn` does. */
export class Learner {
  readonly #sheetSigma: number;
  readonly #grid = Array.from({ length: gridPoints }, (_, i) => gridReach * ((2 * i) / (gridPoints - 1) - 1));
  readonly #lnWeights: number[];
  #checks = 0;

  constructor(sheetSigma = usualSheetSigma) {
    if (!(sheetSigma >= 0 && Number.isFinite(sheetSigma))) {
      throw new RangeError(`expected a sheetSigma of 0 or more, found ${sheetSigma}`);
    }
    this.#sheetSigma = sheetSigma;
    this.#lnWeights = this.#grid.map((lnF) => -((lnF / sheetSigma) ** 2) / 2);
  }

  take({ lnFactor, ready }: CheckFinding): void {
    if (Number.isNaN(lnFactor)) throw new RangeError("a check's lnFactor is no number");
    if (!(Math.abs(lnFactor) < largestLnFactor)) return;
    this.#checks++;
    this.#grid.forEach((lnF, i) => {
      const z = (lnF - lnFactor) / checkSigma;
      this.#lnWeights[i] = (this.#lnWeights[i] as number) + lnNormalShare(ready ? z : -z);
    });
  }

  lesson(): Lesson {
    const [checks, sheetSigma] = [this.#checks, this.#sheetSigma];
    if (checks === 0 || sheetSigma === 0) return { lnFactor: 0, lnSafeFactor: 0, sigma: sheetSigma, checks };
    const highest = Math.max(...this.#lnWeights);
    const weights = this.#lnWeights.map((ln) => Math.exp(ln - highest));
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    const meanOf = (value: (lnF: number) => number) =>
      weights.reduce((sum, weight, i) => sum + weight * value(this.#grid[i] as number), 0) / total;
    const mean = meanOf((lnF) => lnF);
    const sigma = Math.sqrt(meanOf((lnF) => (lnF - mean) ** 2));
    return { lnFactor: mean, lnSafeFactor: mean + pulledBy(mean, sigma, sheetSigma), sigma, checks };
  }
}

/**
 * How far the prior has pulled a mean towards 0, were both it and the checks normal: the checks alone would have said
 * mean/(1 − r), r being the share of the prior in what is known. In a shop that differs from its sheet safe would else
 * keep its nine in ten only after many checks. Cut off at half a sigma (assumed), where few checks tell little.
 */
function pulledBy(mean: number, sigma: number, sheetSigma: number): number {
  const share = Math.min(1, (sigma / sheetSigma) ** 2);
  const pull = (mean * share) / (1 - share);
  const most = sigma / 2;
  return Math.abs(pull) <= most ? pull : Math.sign(mean) * most;
}

/**
 * "this shop: 9 % slower than the sheet, from 14 checks". The percentage is that of the time, which is what a painter
 * sees: at 0.92 of the sheet's rates everything takes 1/0.92 of its time, 9 % longer. `off` when it is not being used.
 */
export function lessonWords({ lnFactor, checks }: Lesson, { off = false }: { off?: boolean } = {}): string {
  const counted = checks === 1 ? "1 check" : `${checks} checks`;
  if (off) return `this shop: as the sheet says; learning is off (${checks === 0 ? "no checks" : counted} so far)`;
  if (checks === 0) return "this shop: as the sheet says, no checks yet";
  const longer = Math.round(100 * Math.expm1(-lnFactor));
  if (longer === 0) return `this shop: as the sheet says, from ${counted}`;
  return `this shop: ${Math.abs(longer)} % ${longer > 0 ? "slower" : "faster"} than the sheet, from ${counted}`;
}
