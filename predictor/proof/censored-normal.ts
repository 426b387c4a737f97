/** Median and spread of what is known between bounds only. */
import { lnNormalShare } from "../cure/normal.ts";

/** The value lies above `low` and at or below `high`; −∞ and ∞ for no bound. Bounds that leave no room are not counted. */
export interface Between {
  low: number;
  high: number;
}

export interface NormalFit {
  mean: number;
  /** 95 in 100 such intervals hold the true mean; where one value fits all, the stretch of such values. */
  low: number;
  high: number;
  /** Null where one and the same value fits all bounds: no spread can be told then. */
  sigma: number | null;
}

const ninetyFiveOf100 = 1.959964;
const lnRootTwoPi = Math.log(2 * Math.PI) / 2;
const roundsAtMost = 100;

/**
 * The normal distribution under which the bounds are likeliest (maximum likelihood for interval-censored values), and the Wald interval of its
 * mean from the observed information. In 1/σ and μ/σ the log-likelihood is concave (J. Pratt, J. Am. Stat. Assoc. 76, 1981, 103–106), so Newton's
 * steps, halved where they would not climb, lead to the one top. Null where there is none, as with bounds on one side only.
 */
export function fitNormal(values: readonly Between[]): NormalFit | null {
  const bounds = values.filter(({ low, high }) => low < high);
  const common = { low: Math.max(...bounds.map(({ low }) => low)), high: Math.min(...bounds.map(({ high }) => high)) };
  if (bounds.length === 0) return null;
  if (common.low < common.high) {
    const mean = (common.low + common.high) / 2;
    return Number.isFinite(mean) ? { mean, ...common, sigma: null } : null;
  }
  const ends = bounds.flatMap(({ low, high }) => [low, high]).filter(Number.isFinite);
  const middle = ends.reduce((sum, end) => sum + end, 0) / ends.length;
  const width = Math.max(...ends) - Math.min(...ends);
  if (!(width > 0)) return null;
  let [inverse, shift] = [4 / width, (4 * middle) / width];
  let here = slopesAt(bounds, inverse, shift);
  for (let round = 0; round < roundsAtMost; round++) {
    const { byInverse, byShift, ii, is, ss } = here;
    const det = ii * ss - is * is;
    if (!(det > 0)) return null;
    const [stepInverse, stepShift] = [-(ss * byInverse - is * byShift) / det, -(ii * byShift - is * byInverse) / det];
    let share = 1;
    let next = here;
    for (; share > 1e-9; share /= 2) {
      if (!(inverse + share * stepInverse > 0)) continue;
      next = slopesAt(bounds, inverse + share * stepInverse, shift + share * stepShift);
      if (next.ln >= here.ln) break;
    }
    if (!(share > 1e-9)) break;
    inverse += share * stepInverse;
    shift += share * stepShift;
    const climbed = next.ln - here.ln;
    here = next;
    if (climbed < 1e-12 * (1 + Math.abs(next.ln))) break;
  }
  return readOff(inverse, shift, here);
}

/** Bounds on one side only lead the climb away without end: such a fit is as wide as nothing one could say. */
const widestSigma = 3;

function readOff(inverse: number, shift: number, { ii, is, ss }: Slopes): NormalFit | null {
  const [mean, sigma] = [shift / inverse, 1 / inverse];
  const det = ii * ss - is * is;
  const byInverse = -shift / (inverse * inverse);
  const variance = -(byInverse * byInverse * ss - (2 * byInverse * is) / inverse + ii / (inverse * inverse)) / det;
  const error = Math.sqrt(variance);
  if (!(sigma < widestSigma && Number.isFinite(error))) return null;
  return { mean, low: mean - ninetyFiveOf100 * error, high: mean + ninetyFiveOf100 * error, sigma };
}

interface Slopes {
  ln: number;
  byInverse: number;
  byShift: number;
  ii: number;
  is: number;
  ss: number;
}

/** ln of the likelihood at a = 1/σ and b = μ/σ, with its first and second derivatives. */
function slopesAt(bounds: readonly Between[], a: number, b: number): Slopes {
  const sum: Slopes = { ln: 0, byInverse: 0, byShift: 0, ii: 0, is: 0, ss: 0 };
  for (const { low, high } of bounds) {
    const [lower, upper] = [a * low - b, a * high - b];
    const ln = lnShareBetween(lower, upper);
    // Density ÷ share at each end, times the end and its place on the normal's own scale; an end at infinity adds nothing.
    const density = (z: number) => (Number.isFinite(z) ? Math.exp((-z * z) / 2 - lnRootTwoPi - ln) : 0);
    const [atLow, atHigh] = [density(lower), density(upper)];
    const [lowEnd, highEnd] = [finite(low), finite(high)];
    const [lowZ, highZ] = [finite(lower), finite(upper)];
    const byShift = atLow - atHigh;
    const byInverse = highEnd * atHigh - lowEnd * atLow;
    sum.ln += ln;
    sum.byShift += byShift;
    sum.byInverse += byInverse;
    sum.ss += lowZ * atLow - highZ * atHigh - byShift * byShift;
    sum.ii += lowEnd * lowEnd * lowZ * atLow - highEnd * highEnd * highZ * atHigh - byInverse * byInverse;
    sum.is += highEnd * highZ * atHigh - lowEnd * lowZ * atLow - byInverse * byShift;
  }
  return sum;
}

const finite = (value: number) => (Number.isFinite(value) ? value : 0);

/** ln(Φ(upper) − Φ(lower)), taken in the lower tail, where the difference keeps its digits. */
function lnShareBetween(lower: number, upper: number): number {
  if (lower > 0) return lnShareBetween(-upper, -lower);
  const ln = lnNormalShare(upper);
  return lower === Number.NEGATIVE_INFINITY ? ln : ln + Math.log1p(-Math.exp(lnNormalShare(lower) - ln));
}
