/** A stretch of time in which air, humidity and air speed run evenly, and the panel evenly too or after its own lag. */
import { quickExp } from "./quick-exp.ts";

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
  /** Time constant in minutes; 0 when the panel runs evenly between its two ends. */
  lagMinutes = 0;
  /** Distance in K of the panel from the path that it would settle on, at the start. */
  lagC = 0;
  private pullFromC = Number.NaN;
  private pullPerMinute = Number.NaN;

  get lengthMinutes(): number {
    return this.to.minutes - this.from.minutes;
  }

  between(from: Conditions, to: Conditions): this {
    this.from = from;
    this.to = to;
    return this;
  }

  /** The panel runs evenly to what the sensor says at the end. */
  panelRuns(): void {
    this.lagMinutes = 0;
    this.lagC = 0;
    this.to.panelC = this.to.sensorC;
  }

  /** The panel starts at `from.panelC` and follows what pulls it, which runs evenly: dT/dt = (pull − T)/lag, solved. */
  panelRelaxes(lagMinutes: number, pullFromC: number, pullToC: number): void {
    this.lagMinutes = lagMinutes;
    this.pullFromC = pullFromC;
    this.pullPerMinute = (pullToC - pullFromC) / this.lengthMinutes;
    this.lagC = this.from.panelC - pullFromC + this.pullPerMinute * lagMinutes;
    this.to.panelC = this.relaxedAt(this.lengthMinutes);
  }

  private relaxedAt(since: number): number {
    const settled = this.pullFromC + this.pullPerMinute * (since - this.lagMinutes);
    return settled + this.lagC * quickExp(-since / this.lagMinutes);
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
    out.panelC = this.lagMinutes > 0 ? this.relaxedAt(out.minutes - this.from.minutes) : (a.panelC + b.panelC) / 2;
  }

  /** Upper bound in K on how far the panel's temperature travels. */
  panelTravelC(): number {
    if (!(this.lagMinutes > 0)) return Math.abs(this.to.panelC - this.from.panelC);
    const settling = 1 - quickExp(-this.lengthMinutes / this.lagMinutes);
    return Math.abs(this.lagC) * settling + Math.abs(this.pullPerMinute) * this.lengthMinutes;
  }
}
