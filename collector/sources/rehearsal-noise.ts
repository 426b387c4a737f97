/** Noise that is a pure function of a seed and a place on a line: the same again after every restart. */

/** A number in [−1, 1) that depends on both integers and shows no pattern: the finishing steps of MurmurHash3, public domain. */
export function noiseAt(seed: number, index: number): number {
  let h = (Math.imul(seed, 0x9e37_79b1) ^ Math.imul(index, 0x85eb_ca6b)) >>> 0;
  h = Math.imul(h ^ (h >>> 16), 0x85eb_ca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2_ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 2 ** 31 - 1;
}

/** Smooth noise in [−1, 1): a new value each period, joined without a kink. */
export function drift(seed: number, atS: number, periodS: number): number {
  const step = Math.floor(atS / periodS);
  const x = atS / periodS - step;
  const from = noiseAt(seed, step);
  return from + (noiseAt(seed, step + 1) - from) * x * x * (3 - 2 * x);
}

/** A seed of one's own for a name: a 32-bit sum in the manner of FNV-1a. */
export function seedOf(name: string, seed: number): number {
  let h = (seed ^ 0x811c_9dc5) >>> 0;
  for (const byte of Buffer.from(name)) h = Math.imul(h ^ byte, 0x0100_0193) >>> 0;
  return h;
}
