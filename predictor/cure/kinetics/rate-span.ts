/** A span of time over which the panel's temperature and the rate constants run smoothly: what is integrated over. */
import { Conditions, type Stretch } from "../stretch.ts";
import type { KineticLaw } from "./kinetic-law.ts";

/** Largest change of a rate constant's logarithm in one span: a parabola then sums it up to 1e-8. */
const spanChange = 0.05;

/** A quantity over a span, as the parabola through both its ends that has its mean. */
export class Parabola {
  from = Number.NaN;
  to = Number.NaN;
  mean = Number.NaN;
  private linear = Number.NaN;
  private square = Number.NaN;

  through(from: number, mean: number, to: number): void {
    this.from = from;
    this.to = to;
    this.mean = mean;
    this.square = 3 * (from + to) - 6 * mean;
    this.linear = to - from - this.square;
  }

  /** The value at fraction x of the span. */
  at(x: number): number {
    return this.from + x * (this.linear + x * this.square);
  }
}

export class RateSpan {
  startMinutes = Number.NaN;
  lengthMinutes = Number.NaN;
  readonly panelC = new Parabola();
  /** The rate constants k1 and k2, in 1/min. */
  readonly first = new Parabola();
  readonly second = new Parabola();

  /** Takes what a law makes of the panel's temperature at the span's start, middle and end. */
  fill(law: KineticLaw, startC: number, middleC: number, endC: number): void {
    const first = law.firstAt(startC);
    const firstEnd = law.firstAt(endC);
    const second = law.secondAt(startC);
    const secondEnd = law.secondAt(endC);
    this.panelC.through(startC, simpson(startC, middleC, endC), endC);
    this.first.through(first, simpson(first, law.firstAt(middleC), firstEnd), firstEnd);
    this.second.through(second, simpson(second, law.secondAt(middleC), secondEnd), secondEnd);
  }
}

/** The panel's temperature at a span's start, middle and end. */
export class PanelNodes {
  startMinutes = Number.NaN;
  lengthMinutes = Number.NaN;
  startC = Number.NaN;
  middleC = Number.NaN;
  endC = Number.NaN;
}

/** Cuts a stretch into spans over which no rate constant changes by more than some percent, each handed on in turn. */
export class SpanCutter {
  private readonly steepestPerK: number;
  private readonly nodes = new PanelNodes();
  private start = new Conditions();
  private readonly middle = new Conditions();
  private end = new Conditions();

  constructor(steepestPerK: number) {
    this.steepestPerK = steepestPerK;
  }

  cut(stretch: Stretch, use: (nodes: PanelNodes) => void): void {
    const { from, to, lengthMinutes } = stretch;
    const { nodes } = this;
    let since = 0;
    let start = from;
    while (since < lengthMinutes) {
      const length = this.longest(stretch, since);
      const isLast = !(since + length < lengthMinutes);
      since += length;
      const end = isLast ? to : this.end;
      if (!isLast) stretch.at(from.minutes + since, end);
      stretch.midway(start, end, this.middle);
      nodes.startMinutes = start.minutes;
      nodes.lengthMinutes = end.minutes - start.minutes;
      nodes.startC = start.panelC;
      nodes.middleC = this.middle.panelC;
      nodes.endC = end.panelC;
      use(nodes);
      if (isLast) return;
      [this.end, this.start] = [this.start, this.end];
      start = end;
    }
  }

  /** How long the span may be that begins so many minutes into a stretch; Infinity where nothing changes. */
  private longest({ lengthMinutes, lagMinutes, lagC, panelTravelC }: Stretch, since: number): number {
    const evenPerMinute = panelTravelC / lengthMinutes;
    if (!(lagMinutes > 0)) return spanChange / (this.steepestPerK * evenPerMinute);
    const left = Math.abs(lagC) * Math.exp(-since / lagMinutes);
    const byChange = spanChange / (this.steepestPerK * (left / lagMinutes + evenPerMinute));
    return Math.min(byChange, (0.08 * lagMinutes) / Math.sqrt(Math.sqrt(left)));
  }
}

function simpson(start: number, middle: number, end: number): number {
  return (start + 4 * middle + end) / 6;
}
