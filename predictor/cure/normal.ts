/**
 * The standard normal distribution Φ and its logarithm, good to about 1e-13 relative from far in one tail to far in the
 * other. Centre: the series of G. Marsaglia, Evaluating the Normal Distribution, J. Stat. Software 11(4), 2004. Tails:
 * Laplace's continued fraction, Abramowitz and Stegun 26.2.14.
 */

/** From here on outwards the continued fraction; nearer, the series: either is at its ease there. */
const tailFrom = 3;
const lnRootTwoPi = Math.log(2 * Math.PI) / 2;

/** The share of a standard normal distribution below x. Any number, infinities too; NaN stays NaN. Below −38 it is 0. */
export function normalShare(x: number): number {
  if (x > tailFrom) return 1 - Math.exp(lnTail(x));
  return x < -tailFrom ? Math.exp(lnTail(-x)) : centre(x);
}

/** Its natural logarithm, which goes on where the share itself is too small for a number. NaN stays NaN. */
export function lnNormalShare(x: number): number {
  if (x > tailFrom) return Math.log1p(-Math.exp(lnTail(x)));
  return x < -tailFrom ? lnTail(-x) : Math.log(centre(x));
}

/** 1/2 + φ(x)·(x + x³/3 + x⁵/(3·5) + …), summed until nothing is added. */
function centre(x: number): number {
  const square = x * x;
  let term = x;
  let sum = x;
  let before = Number.NaN;
  for (let divisor = 3; sum !== before && Number.isFinite(sum); divisor += 2) {
    before = sum;
    term *= square / divisor;
    sum += term;
  }
  return 0.5 + sum * Math.exp(-square / 2 - lnRootTwoPi);
}

/** ln of the share above x, for x ≥ 3: −x²/2 − ln √(2π) − ln(x + 1/(x + 2/(x + 3/(x + …)))), deep enough for 1e-14. */
function lnTail(x: number): number {
  let fraction = x;
  for (let k = Math.ceil(12 + 430 / (x * x)); k > 0; k--) fraction = x + k / fraction;
  return (-x * x) / 2 - lnRootTwoPi - Math.log(fraction);
}
