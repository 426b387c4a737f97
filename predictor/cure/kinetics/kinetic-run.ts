/** One run of a reaction at a fixed factor on its rates: how far it is and when it passed each of its targets. */
import { DormandPrince } from "./dormand-prince.ts";
import type { KineticLaw } from "./kinetic-law.ts";
import { RateSpan } from "./rate-span.ts";

export interface KineticRunState {
  extent: number;
  next: number;
  endedAt: Float64Array;
}

export class KineticRun {
  extent: number;
  /** Minutes since the finish at which each target was reached; NaN before. */
  readonly endedAt: Float64Array;
  private readonly law: KineticLaw;
  private readonly targets: readonly number[];
  private readonly factor: number;
  /** The target that it is on its way to; equal to their number when all are reached. */
  private next = 0;
  private span = new RateSpan();
  private readonly alongSpan: DormandPrince;

  /** Targets are extents, rising. */
  constructor(law: KineticLaw, targets: readonly number[], factor: number) {
    this.law = law;
    this.targets = targets;
    this.factor = factor;
    this.extent = law.initialExtent;
    this.endedAt = new Float64Array(targets.length).fill(Number.NaN);
    this.alongSpan = new DormandPrince((x, extent) => {
      const { first, second, panelC, lengthMinutes } = this.span;
      return this.factor * lengthMinutes * this.law.growth(extent, first.at(x), second.at(x), panelC.at(x));
    });
  }

  get done(): boolean {
    return this.next >= this.targets.length;
  }

  /** Runs on along a span or the first fraction of it, up to its last target at most. */
  along(span: RateSpan, fraction = 1): void {
    this.span = span;
    let x = 0;
    while (!this.done) {
      const target = this.targets[this.next] as number;
      x = this.alongSpan.advance(x, this.extent, fraction, target);
      this.extent = this.alongSpan.value;
      if (!(this.extent >= target)) return;
      this.endedAt[this.next] = span.startMinutes + x * span.lengthMinutes;
      this.next++;
    }
  }

  /** When the targets that are left are reached if the panel keeps its temperature from an instant on. */
  hold(minutes: number, panelC: number): void {
    let from = this.extent;
    let at = minutes;
    for (let k = this.next; k < this.targets.length; k++) {
      const target = Math.max(from, this.targets[k] as number);
      at += minutesBetween(this.law, from, target, panelC) / this.factor;
      this.endedAt[k] = at;
      from = target;
    }
  }

  state(): KineticRunState {
    return { extent: this.extent, next: this.next, endedAt: this.endedAt.slice() };
  }

  restore({ extent, next, endedAt }: KineticRunState): void {
    this.extent = extent;
    this.next = next;
    this.endedAt.set(endedAt);
  }
}

/** Minutes from one extent to another at a constant panel temperature and the rates as they are; Infinity where those are 0. */
export function minutesBetween(law: KineticLaw, from: number, to: number, panelC: number): number {
  const first = law.firstAt(panelC);
  const second = law.secondAt(panelC);
  const clock = new DormandPrince((extent) => 1 / law.growth(extent, first, second, panelC));
  clock.advance(from, 0, to, Number.POSITIVE_INFINITY);
  return clock.value >= 0 ? clock.value : Number.POSITIVE_INFINITY;
}
