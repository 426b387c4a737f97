/** What a rate sums up to inside a step: a cubic in the fraction x of the step, for a step of unit length. */
export interface StepCubic {
  linear: number;
  square: number;
  cube: number;
}

/** The rate as the parabola through its values at start, middle and end; Simpson's rule is its sum over the step. */
export function throughMiddle(start: number, middle: number, end: number): StepCubic {
  return { linear: start, square: (4 * middle - 3 * start - end) / 2, cube: (2 * start - 4 * middle + 2 * end) / 3 };
}

/** The rate as the parabola through its values at start and end that has this mean. */
export function withMean(start: number, mean: number, end: number): StepCubic {
  return { linear: start, square: 3 * mean - 2 * start - end, cube: start + end - 2 * mean };
}

/** The sum at fraction x. */
export function summedAt({ linear, square, cube }: StepCubic, x: number): number {
  return x * (linear + x * (square + x * cube));
}

/** The fraction 0…1 at which the sum comes to a target, for a sum that rises: Newton, kept in its bracket. */
export function cubicRoot(step: StepCubic, target: number): number {
  const { linear, square, cube } = step;
  let from = 0;
  let to = 1;
  let x = Math.min(1, Math.max(0, target / (linear + square + cube)));
  for (let round = 0; round < 60; round++) {
    const miss = summedAt(step, x) - target;
    if (miss > 0) to = x;
    else from = x;
    const next = x - miss / (linear + x * (2 * square + 3 * x * cube));
    const kept = next >= from && next <= to ? next : (from + to) / 2;
    if (Math.abs(kept - x) <= 1e-15) return kept;
    x = kept;
  }
  return x;
}
