/** Wet and dry film: what a painter's comb reading comes to when it has dried. MIL-HDBK-1110 (UFC 3-190-06), 2.1.5. */

/**
 * Dry film build in µm of a wet film: wet × solids / (1 + thinned). `solidsByVolumePercent` is the paint's ready for use
 * before it is thinned, above 0 to 100; `thinnedShare` the volume of thinner to one of that, 0.1 for 10 %. NaN for
 * anything outside these or a wet film that is not above 0.
 */
export function dryFilmUm(wetUm: number, solidsByVolumePercent: number, thinnedShare = 0): number {
  const fits = wetUm > 0 && isSolids(solidsByVolumePercent) && thinnedShare >= 0;
  return fits ? (wetUm * solidsByVolumePercent) / 100 / (1 + thinnedShare) : Number.NaN;
}

/**
 * Square metres that a litre of unthinned paint covers at a dry film build in µm, nothing lost on the way; NaN outside
 * the ranges of `dryFilmUm`.
 */
export function spreadingRateM2PerL(solidsByVolumePercent: number, dryUm: number): number {
  return dryUm > 0 && isSolids(solidsByVolumePercent) ? (10 * solidsByVolumePercent) / dryUm : Number.NaN;
}

function isSolids(percent: number): boolean {
  return percent > 0 && percent <= 100;
}
