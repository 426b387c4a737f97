/** Follows one coat's panel through the readings of where it stood, and drives its ascent along; docs/model.md describes how. */
import type { Ascent } from "./ascent.ts";
import type { ClimateReading, CoatSetup, Note } from "./climb.ts";
import { gapNote, heldBackNote } from "./notes.ts";
import { panelLagSeconds } from "./panel.ts";
import { startAscent } from "./start-ascent.ts";
import { Conditions, Stretch } from "./stretch.ts";

/** Standard uncertainty of a panel temperature unless stated. */
const usualUncertaintyC = 0.3;
/** Longest time between two readings that is bridged evenly; what lies ahead is even all along. */
export const longestBridgeMinutes = 10;
/** A panel moved to another place follows its own lag for this many time constants; then the place's sensor counts. Assumed. */
const lagsToSettle = 5;
/** An estimated panel this close to what it follows has arrived. */
const settledC = 1e-6;
const msPerMinute = 60_000;

export class PanelHistory {
  private readonly setup: CoatSetup;
  readonly ascent: Ascent;
  private readonly stretch = new Stretch();
  /** The last reading, before the climb has begun too, with its own panel sensor's value: NaN where there is none. */
  private last = new Conditions();
  private next = new Conditions();
  private begun = false;
  private lost = false;
  private panelC = Number.NaN;
  /** Minutes since the finish at which the car came to its present place; NaN once the place's own panel sensor counts. */
  private driftingSince = Number.NaN;
  /** Whether the panel was estimated for any stretch since the finish. */
  estimated = false;
  /** The air speed that the panel's lag was last asked for, and the lag. */
  private lagAtMps = Number.NaN;
  private lastLagMinutes = Number.NaN;
  /** Lowest and highest panel temperature since the finish, infinite before the climb has begun. */
  coldestC = Number.POSITIVE_INFINITY;
  warmestC = Number.NEGATIVE_INFINITY;
  /** −∞ before the first reading. */
  lastAtMs = Number.NEGATIVE_INFINITY;
  /** What a person should know of the readings so far. */
  notes: Note[] = [];
  private bridgeMinutes = longestBridgeMinutes;

  constructor(setup: CoatSetup) {
    this.setup = setup;
    const { filmUm, temperatureUncertaintyC: uncertaintyC = usualUncertaintyC, rateFactor = 1 } = setup;
    this.ascent = startAscent(setup.ladder, { filmUm, uncertaintyC, rateFactor });
  }

  /** Nothing can be said: no reading yet, or none at the finish or soon after it. */
  get isWithoutPrediction(): boolean {
    return !this.begun && (this.lost || this.lastAtMs === Number.NEGATIVE_INFINITY);
  }

  /** Whether the last reading tells the coat's panel. */
  get endsMeasured(): boolean {
    return this.isMeasured(this.last);
  }

  /** Takes in the next reading; throws a RangeError for one older than the last or with values that cannot be. */
  append(reading: ClimateReading): void {
    const { lastAtMs } = this;
    const isFirst = lastAtMs === Number.NEGATIVE_INFINITY;
    if (!(reading.atMs >= lastAtMs)) {
      throw new RangeError(`reading at ${reading.atMs} is older than the last one, at ${lastAtMs}`);
    }
    this.readInto(this.next, reading);
    this.lastAtMs = reading.atMs;
    if (this.lost) return;
    if (!this.begun) {
      if (!(this.next.minutes > 0)) {
        this.nextBecomesLast();
        return;
      }
      if (isFirst) this.holdBack();
      if (this.lost) return;
      this.beginBetween(this.last, this.next);
    }
    this.advance(isFirst ? this.setup.finishedAtMs : lastAtMs, reading);
  }

  /** Goes on along conditions to come, then holds the last ones, reads the answer off, and is as it was before. */
  lookAhead<T>(readings: readonly ClimateReading[], answer: (history: PanelHistory) => T): T {
    if (!this.begun) return this.begunAlong(readings).lookAhead([], answer);
    const kept = {
      last: this.last,
      next: this.next,
      panelC: this.panelC,
      driftingSince: this.driftingSince,
      estimated: this.estimated,
      coldestC: this.coldestC,
      warmestC: this.warmestC,
      lastAtMs: this.lastAtMs,
      bridgeMinutes: this.bridgeMinutes,
    };
    this.last = new Conditions();
    this.last.copy(kept.last);
    this.next = new Conditions();
    try {
      return this.ascent.project(
        () => {
          this.appendAhead(readings);
          this.holdLast();
        },
        () => answer(this),
      );
    } finally {
      Object.assign(this, kept);
    }
  }

  /** A climb of a coat whose finish lies ahead, taken past it. */
  private begunAlong(readings: readonly ClimateReading[]): PanelHistory {
    const ahead = new PanelHistory(this.setup);
    ahead.lastAtMs = this.lastAtMs;
    ahead.last.copy(this.last);
    ahead.appendAhead(readings);
    if (!ahead.begun) ahead.begin(ahead.last);
    return ahead;
  }

  private appendAhead(readings: readonly ClimateReading[]): void {
    this.bridgeMinutes = Number.POSITIVE_INFINITY;
    for (const reading of readings) this.append({ ...reading, atMs: Math.max(reading.atMs, this.lastAtMs) });
  }

  private readInto(moment: Conditions, reading: ClimateReading): void {
    const { atMs, airC, rhPercent } = reading;
    const sensorC = reading.panelC ?? Number.NaN;
    const airSpeedMps = reading.airSpeedMps ?? this.setup.ladder.airSpeedMps;
    const panelFits = reading.panelC === undefined || reading.panelC === null || isTemperature(sensorC);
    const airFits = isTemperature(airC) && rhPercent >= 0 && rhPercent <= 100 && airSpeedMps >= 0 && airSpeedMps < 100;
    if (!(panelFits && airFits && Number.isFinite(atMs))) {
      throw new RangeError(`reading out of range: ${JSON.stringify(reading)}`);
    }
    moment.minutes = (atMs - this.setup.finishedAtMs) / msPerMinute;
    moment.airC = airC;
    moment.rhPercent = rhPercent;
    moment.airSpeedMps = airSpeedMps;
    moment.sensorC = sensorC;
  }

  private nextBecomesLast(): void {
    const { last } = this;
    this.last = this.next;
    this.next = last;
  }

  /** Takes a first reading soon after the finish as if it had been there at the finish; a later one is of no use. */
  private holdBack(): void {
    const { next, last } = this;
    if (!(next.minutes <= longestBridgeMinutes)) {
      this.lost = true;
      return;
    }
    const { finishedAtMs } = this.setup;
    this.notes.push(heldBackNote(finishedAtMs, finishedAtMs + next.minutes * msPerMinute));
    last.copy(next);
    last.minutes = 0;
  }

  /** Begins with what two readings, at or before and after the finish, say of the finish. */
  private beginBetween(before: Conditions, after: Conditions): void {
    const span = after.minutes - before.minutes;
    const x = -before.minutes / span;
    if (span > this.bridgeMinutes) before.copy(colder(before, after));
    else {
      before.airC += x * (after.airC - before.airC);
      before.rhPercent += x * (after.rhPercent - before.rhPercent);
      before.airSpeedMps += x * (after.airSpeedMps - before.airSpeedMps);
      if (isTemperature(after.sensorC)) before.sensorC += x * (after.sensorC - before.sensorC);
    }
    this.begin(before);
  }

  private begin(atFinish: Conditions): void {
    this.begun = true;
    atFinish.minutes = 0;
    atFinish.panelC = isTemperature(atFinish.sensorC) ? atFinish.sensorC : (this.setup.panelAtFinishC ?? atFinish.airC);
    this.seePanel(atFinish.panelC);
    this.ascent.stepTo(atFinish);
  }

  private advance(lastAtMs: number, reading: ClimateReading): void {
    const { last, next } = this;
    const movedIn = reading.movedIn === true;
    if (reading.atMs - lastAtMs > this.bridgeMinutes * msPerMinute) {
      const held = colder(last, next);
      const heldC = isTemperature(held.sensorC) ? held.sensorC : held.airC;
      this.notes.push(gapNote(lastAtMs, reading.atMs, heldC));
      this.hold(held);
      this.jump(movedIn);
    } else if (movedIn || next.minutes === last.minutes) {
      if (next.minutes > last.minutes) this.hold(last);
      this.jump(movedIn);
    } else {
      this.endDrift();
      this.travel(last, next);
    }
    this.nextBecomesLast();
  }

  /** Conditions change at once to those of the next reading; the panel only where the sensor is the coat's own. */
  private jump(movedIn: boolean): void {
    const { next } = this;
    if (movedIn) this.driftingSince = next.minutes;
    next.panelC = this.isMeasured(next) ? next.sensorC : this.panelC;
    this.seePanel(next.panelC);
    this.ascent.stepTo(next);
  }

  /** Whether a reading's panel sensor tells the coat's panel: not while that still drifts towards its new place. */
  private isMeasured(moment: Conditions): boolean {
    return isTemperature(moment.sensorC) && !(this.driftingSince >= 0);
  }

  private endDrift(): void {
    if (!(this.driftingSince >= 0 && isTemperature(this.next.sensorC))) return;
    const settlesAt = this.driftingSince + lagsToSettle * this.lagMinutes(this.last.airSpeedMps);
    if (this.last.minutes >= settlesAt) this.driftingSince = Number.NaN;
  }

  private lagMinutes(airSpeedMps: number): number {
    if (airSpeedMps !== this.lagAtMps) {
      this.lagAtMps = airSpeedMps;
      this.lastLagMinutes = (this.setup.panelLagSeconds ?? panelLagSeconds(this.setup.substrate, airSpeedMps)) / 60;
    }
    return this.lastLagMinutes;
  }

  /** Holds one reading's conditions from the last reading to the next. */
  private hold(held: Conditions): void {
    const from = new Conditions();
    from.copy(held);
    from.minutes = this.last.minutes;
    from.panelC = this.isMeasured(held) ? held.sensorC : this.panelC;
    const to = new Conditions();
    to.copy(from);
    to.minutes = this.next.minutes;
    this.ascent.stepTo(from);
    this.travel(from, to);
  }

  /** Goes evenly from one to the other, the panel too or, where it is not measured, after what pulls it. */
  private travel(from: Conditions, to: Conditions): void {
    const stretch = this.stretch.between(from, to);
    if (this.isMeasured(to)) stretch.panelRuns();
    else {
      this.estimated = true;
      const bySensor = isTemperature(from.sensorC) && isTemperature(to.sensorC);
      stretch.panelRelaxes(this.lagMinutes(from.airSpeedMps), bySensor);
    }
    this.ascent.along(stretch);
    this.seePanel(to.panelC);
  }

  private seePanel(panelC: number): void {
    this.panelC = panelC;
    this.coldestC = Math.min(this.coldestC, panelC);
    this.warmestC = Math.max(this.warmestC, panelC);
  }

  /** Lets an estimated panel arrive at what the last reading holds; then nothing changes any more. */
  private holdLast(): void {
    const { last, ascent } = this;
    if (this.isMeasured(last)) return;
    const bySensor = isTemperature(last.sensorC);
    const pullC = bySensor ? last.sensorC : last.airC;
    const lagMinutes = this.lagMinutes(last.airSpeedMps);
    const stretch = new Stretch();
    let from = last;
    while (Math.abs(from.panelC - pullC) > settledC) {
      const to = new Conditions();
      to.copy(from);
      to.minutes = from.minutes + lagMinutes;
      stretch.between(from, to).panelRelaxes(lagMinutes, bySensor);
      ascent.along(stretch);
      from = to;
    }
  }
}

/** The one of two readings whose panel, or air where no panel is measured, is colder. */
function colder(a: Conditions, b: Conditions): Conditions {
  const panelOrAirC = (moment: Conditions) => (isTemperature(moment.sensorC) ? moment.sensorC : moment.airC);
  return panelOrAirC(b) < panelOrAirC(a) ? b : a;
}

/** Wide enough for any shop and any oven; NaN is none. */
export function isTemperature(tempC: number): boolean {
  return tempC >= -60 && tempC <= 300;
}
