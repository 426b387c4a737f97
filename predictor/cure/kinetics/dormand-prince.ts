/** Dormand and Prince's embedded Runge–Kutta pair 5(4) for one quantity, with error control (J. Comput. Appl. Math. 6, 1980). */

/** Largest error of one step, relative to the quantity and absolute. */
const relative = 1e-11;
const absolute = 1e-14;
/** After so many steps the rest is taken in one, good or not: an end for what no real kinetics ask. */
const mostSteps = 10_000;

export class DormandPrince {
  /** The quantity where the last `advance` stopped. */
  value = Number.NaN;
  private readonly slope: (x: number, y: number) => number;
  private stepped = Number.NaN;
  private endSlope = Number.NaN;
  private error = Number.NaN;

  constructor(slope: (x: number, y: number) => number) {
    this.slope = slope;
  }

  /**
   * Follows a quantity that does not fall from `y` at `from` to `end`, or to where it comes to `target`. Tells where it
   * stopped, with `value` there: `target` itself in the second case.
   */
  advance(from: number, y: number, end: number, target: number): number {
    this.value = y;
    if (y >= target) return from;
    let x = from;
    let step = end - from;
    const least = 1e-12 * step;
    for (let steps = 0; x < end; steps++) {
      const isLast = !(x + step < end) || steps >= mostSteps;
      if (isLast) step = end - x;
      this.step(x, this.value, step);
      const share = this.error / (absolute + relative * Math.abs(this.stepped));
      if (share <= 1 || step <= least || steps >= mostSteps) {
        if (this.stepped >= target) {
          const reached = x + this.root(x, this.value, step, target);
          this.value = target;
          return reached;
        }
        this.value = this.stepped;
        x = isLast ? end : x + step;
      }
      step = Math.max(least, step * resize(share));
    }
    return end;
  }

  /** How far into a step that passes it the target is: Newton, with steps of that length, kept in its bracket. */
  private root(x: number, y: number, step: number, target: number): number {
    let low = 0;
    let high = step;
    let length = (step * (target - y)) / (this.stepped - y);
    for (let round = 0; round < 60; round++) {
      this.step(x, y, length);
      const miss = this.stepped - target;
      if (miss > 0) high = length;
      else low = length;
      const next = length - miss / this.endSlope;
      const kept = next >= low && next <= high ? next : (low + high) / 2;
      if (Math.abs(kept - length) <= 1e-14 * step) return kept;
      length = kept;
    }
    return length;
  }

  private step(x: number, y: number, h: number): void {
    const { slope } = this;
    const a = slope(x, y);
    const b = slope(x + h / 5, y + (h / 5) * a);
    const c = slope(x + 0.3 * h, y + h * ((3 / 40) * a + (9 / 40) * b));
    const d = slope(x + 0.8 * h, y + h * ((44 / 45) * a - (56 / 15) * b + (32 / 9) * c));
    const e = slope(
      x + (8 / 9) * h,
      y + h * ((19372 / 6561) * a - (25360 / 2187) * b + (64448 / 6561) * c - (212 / 729) * d),
    );
    const f = slope(
      x + h,
      y + h * ((9017 / 3168) * a - (355 / 33) * b + (46732 / 5247) * c + (49 / 176) * d - (5103 / 18656) * e),
    );
    const grown = (35 / 384) * a + (500 / 1113) * c + (125 / 192) * d - (2187 / 6784) * e + (11 / 84) * f;
    const stepped = y + h * grown;
    const g = slope(x + h, stepped);
    this.stepped = stepped;
    this.endSlope = g;
    this.error = Math.abs(
      h *
        ((71 / 57600) * a - (71 / 16695) * c + (71 / 1920) * d - (17253 / 339200) * e + (22 / 525) * f - (1 / 40) * g),
    );
  }
}

/** What the next step is of this one, whose error took such a share of what it may; a share that is no number shrinks it. */
function resize(share: number): number {
  const factor = 0.9 * share ** -0.2;
  return factor >= 0.2 ? Math.min(5, factor) : 0.2;
}
