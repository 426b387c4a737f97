/** A stretch of time in which air, humidity and air speed run evenly, and the panel evenly too or after its own lag. */
import { nearExp, quickExp } from "./quick-exp.ts";

/**
 * What the rates depend on, at one instant. Written in place and handed on as a whole: a number handed to a function
 * may cost an allocation, which the inner loop is spared.
 */
export class Conditions {
  /** Minutes since the finish. */
  minutes = Number.NaN;
  airC = Number.NaN;
  rhPercent = Number.NaN;
  airSpeedMps = Number.NaN;
  panelC = Number.NaN;
  /** What the place's panel sensor says, whether or not it is the coat's panel; NaN where there is none. */
  sensorC = Number.NaN;

  copy(from: Conditions): void {
    this.minutes = from.minutes;
    this.airC = from.airC;
    this.rhPercent = from.rhPercent;
    this.airSpeedMps = from.airSpeedMps;
    this.panelC = from.panelC;
    this.sensorC = from.sensorC;
  }
}

/** Begin it with its two ends, then call `panelRuns` or `panelRelaxes`, which give the end its panel temperature. */
export class Stretch {
  from = new Conditions();
  to = new Conditions();
  lengthMinutes = Number.NaN;
  /** Upper bound in K on how far the panel's temperature travels. */
  panelTravelC = Number.NaN;
  /** Time constant in minutes; 0 when the panel runs evenly between its two ends. */
  lagMinutes = Number.NaN;
  /** Distance in K of the panel from the path that it would settle on, at the start. */
  lagC = Number.NaN;
  private pullFromC = Number.NaN;
  private pullPerMinute = Number.NaN;
  /** What is left halfway of the panel's distance from its path. */
  private halfDecay = Number.NaN;

  between(from: Conditions, to: Conditions): this {
    this.from = from;
    this.to = to;
    this.lengthMinutes = to.minutes - from.minutes;
    return this;
  }

  /** The panel runs evenly to what the sensor says at the end. */
  panelRuns(): void {
    this.lagMinutes = 0;
    this.lagC = 0;
    this.to.panelC = this.to.sensorC;
    this.panelTravelC = Math.abs(this.to.panelC - this.from.panelC);
  }

  /**
   * The panel starts at `from.panelC` and follows what pulls it, the sensor's temperature or the air's, which runs
   * evenly: dT/dt = (pull − T)/lag, solved.
   */
  panelRelaxes(lagMinutes: number, bySensor: boolean): void {
    const { from, to } = this;
    const pullFromC = bySensor ? from.sensorC : from.airC;
    const pullToC = bySensor ? to.sensorC : to.airC;
    const { lengthMinutes } = this;
    this.lagMinutes = lagMinutes;
    this.pullFromC = pullFromC;
    this.pullPerMinute = (pullToC - pullFromC) / lengthMinutes;
    this.lagC = from.panelC - pullFromC + this.pullPerMinute * lagMinutes;
    this.halfDecay = nearExp((-0.5 * lengthMinutes) / lagMinutes);
    const decay = this.halfDecay * this.halfDecay;
    to.panelC = this.relaxed(lengthMinutes, decay);
    this.panelTravelC = Math.abs(this.lagC) * (1 - decay) + Math.abs(pullToC - pullFromC);
  }

  /** The panel's temperature this long after the start, when so much is left of its distance from its path. */
  private relaxed(since: number, decay: number): number {
    return this.pullFromC + this.pullPerMinute * (since - this.lagMinutes) + this.lagC * decay;
  }

  private relaxedAt(since: number): number {
    return this.relaxed(since, quickExp(-since / this.lagMinutes));
  }

  at(minutes: number, out: Conditions): void {
    const { from, to } = this;
    const since = minutes - from.minutes;
    const x = since / (to.minutes - from.minutes);
    out.minutes = minutes;
    out.airC = from.airC + x * (to.airC - from.airC);
    out.rhPercent = from.rhPercent + x * (to.rhPercent - from.rhPercent);
    out.airSpeedMps = from.airSpeedMps + x * (to.airSpeedMps - from.airSpeedMps);
    out.panelC = this.lagMinutes > 0 ? this.relaxedAt(since) : from.panelC + x * (to.panelC - from.panelC);
  }

  /** Conditions halfway in time between two of the stretch. */
  midway(a: Conditions, b: Conditions, out: Conditions): void {
    out.minutes = (a.minutes + b.minutes) / 2;
    out.airC = (a.airC + b.airC) / 2;
    out.rhPercent = (a.rhPercent + b.rhPercent) / 2;
    out.airSpeedMps = (a.airSpeedMps + b.airSpeedMps) / 2;
    if (!(this.lagMinutes > 0)) out.panelC = (a.panelC + b.panelC) / 2;
    else if (a === this.from && b === this.to) out.panelC = this.relaxed(0.5 * this.lengthMinutes, this.halfDecay);
    else out.panelC = this.relaxedAt(out.minutes - this.from.minutes);
  }
}
