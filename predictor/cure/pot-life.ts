/** How long a mixture can still be sprayed: its pot life runs from the mixing, with the temperature of the room it stands in. */
import { cubicRoot, type StepCubic, summedAt, throughMiddle } from "./step-cubic.ts";
import { curveThrough, minutesAt } from "./time-curve.ts";
import { ninetiethPercentile, usualSheetSigma } from "./uncertainty.ts";

export interface Mixture {
  /** Pot life at 20 °C, as the sheet prints it. */
  minutesAt20C: number;
  activationEnergyKJ: number;
}

/** The air of the mixing room at one instant. Two in a row may share an instant: a step. */
export interface RoomReading {
  atMs: number;
  airC: number;
}

export interface PotLife {
  /** Share of the pot life that is used up, likely; above 1 when it is over. Null where nothing can be said. */
  usedShare: number | null;
  /** The likely end; null also where it is a hundred years off. */
  endsAtMs: number | null;
  /** One mixture in ten has ended by then: the time to plan with, since spraying too late is what does harm. */
  useByAtMs: number | null;
  /** Why there is nothing to say. */
  why?: string;
}

/** The tenth percentile of ln(time) about the sheet: rates 21 % higher. */
const useByShare = Math.exp(-ninetiethPercentile * usualSheetSigma);
/** How long after the mixing its first reading may come, to hold from the mixing. */
const longestHoldBackMs = 10 * 60_000;
const neverMs = 100 * 365.25 * 24 * 60 * 60_000;
const msPerMinute = 60_000;
/** Largest change of ln(rate) in one step: what a parabola of the rate sums up to is then right to 1e-6 inside it too. */
const stepChange = 0.03;

/**
 * The pot life of a mixture as of an instant, after Arrhenius. The temperature is even between readings and then goes
 * along `ahead`, the room's forecast; after the last of these it holds. A reading before the mixing tells the
 * temperature at it; otherwise the first one after it holds back to it if it came within 10 minutes, else nothing is
 * said but why. Humidity, which shortens the pot life of polyurethanes, is not reckoned with. Throws a RangeError for a
 * mixture, instant or reading that cannot be, and for readings out of order.
 */
export function potLife(
  mixture: Mixture,
  mixedAtMs: number,
  readings: readonly RoomReading[],
  asOfMs: number,
  ahead: readonly RoomReading[] = [],
): PotLife {
  const { minutesAt20C, activationEnergyKJ } = mixture;
  requireThat(minutesAt20C > 0 && Number.isFinite(minutesAt20C), "minutesAt20C", minutesAt20C);
  requireThat(activationEnergyKJ > 0 && activationEnergyKJ < 1000, "activationEnergyKJ", activationEnergyKJ);
  requireThat(Number.isFinite(mixedAtMs), "mixedAtMs", mixedAtMs);
  requireThat(Number.isFinite(asOfMs), "asOfMs", asOfMs);
  const lastReadAtMs = readings[readings.length - 1]?.atMs ?? Number.POSITIVE_INFINITY;
  const room = sinceMixing([...readings, ...ahead.filter(({ atMs }) => atMs > lastReadAtMs)], mixedAtMs);
  if (room === undefined) {
    const why = "There is no reading of the mixing room at the mixing or in the 10 min after it.";
    return { usedShare: null, endsAtMs: null, useByAtMs: null, why };
  }

  const curve = curveThrough([20], [minutesAt20C], activationEnergyKJ);
  const use = new Use(room, (airC) => 1 / (msPerMinute * minutesAt(curve, airC)));
  const instantOf = (share: number) => {
    const atMs = use.instantOf(share);
    return atMs - mixedAtMs < neverMs ? Math.round(atMs) : null;
  };
  return { usedShare: use.shareAt(asOfMs), endsAtMs: instantOf(1), useByAtMs: instantOf(useByShare) };
}

/** The room's temperatures from the mixing on, one of them at it; undefined where that one is not known. */
function sinceMixing(readings: readonly RoomReading[], mixedAtMs: number): RoomReading[] | undefined {
  readings.forEach(({ atMs, airC }, index) => {
    requireThat(Number.isFinite(atMs) && atMs >= (readings[index - 1]?.atMs ?? atMs), "instant in order", atMs);
    requireThat(airC >= -60 && airC <= 300, "airC", airC);
  });
  const after = readings.filter(({ atMs }) => atMs > mixedAtMs);
  const before = readings[readings.length - after.length - 1];
  const next = after[0];
  if (before === undefined) {
    if (next === undefined || !(next.atMs - mixedAtMs <= longestHoldBackMs)) return undefined;
    return [{ atMs: mixedAtMs, airC: next.airC }, ...after];
  }
  const x = next === undefined ? 0 : (mixedAtMs - before.atMs) / (next.atMs - before.atMs);
  return [{ atMs: mixedAtMs, airC: before.airC + x * ((next?.airC ?? 0) - before.airC) }, ...after];
}

/** What has been used up over time: the rate summed up over steps in which it is a parabola, then going on at its last. */
class Use {
  private readonly steps: { fromMs: number; lengthMs: number; used: number; cubic: StepCubic }[] = [];
  private readonly mixedAtMs: number;
  private readonly endMs: number;
  private readonly usedAtEnd: number;
  private readonly lastRate: number;

  /** `room` starts at the mixing; the rate is the share of the pot life used up in a millisecond. */
  constructor(room: RoomReading[], rateAt: (airC: number) => number) {
    const first = room[0] as RoomReading;
    let used = 0;
    let from = first;
    for (const to of room.slice(1)) {
      const change = Math.abs(Math.log(rateAt(to.airC) / rateAt(from.airC)));
      const count = Math.max(1, Math.ceil(change / stepChange));
      const lengthMs = (to.atMs - from.atMs) / count;
      for (let i = 0; i < count && lengthMs > 0; i++) {
        const rate = (x: number) => rateAt(from.airC + ((i + x) / count) * (to.airC - from.airC));
        const cubic = throughMiddle(rate(0), rate(0.5), rate(1));
        this.steps.push({ fromMs: from.atMs + i * lengthMs, lengthMs, used, cubic });
        used += lengthMs * summedAt(cubic, 1);
      }
      from = to;
    }
    this.mixedAtMs = first.atMs;
    this.endMs = from.atMs;
    this.usedAtEnd = used;
    this.lastRate = rateAt(from.airC);
  }

  /** 0 before the mixing. */
  shareAt(atMs: number): number {
    if (!(atMs > this.mixedAtMs)) return 0;
    if (atMs >= this.endMs) return this.usedAtEnd + this.lastRate * (atMs - this.endMs);
    const step = this.steps.findLast(({ fromMs }) => fromMs <= atMs);
    if (step === undefined) return 0;
    return step.used + step.lengthMs * summedAt(step.cubic, (atMs - step.fromMs) / step.lengthMs);
  }

  /** When a share above 0 is used up. */
  instantOf(share: number): number {
    if (share >= this.usedAtEnd) return this.endMs + (share - this.usedAtEnd) / this.lastRate;
    const step = this.steps.findLast(({ used }) => used <= share);
    if (step === undefined) return this.mixedAtMs;
    return step.fromMs + step.lengthMs * cubicRoot(step.cubic, (share - step.used) / step.lengthMs);
  }
}

function requireThat(holds: boolean, what: string, found: unknown): void {
  if (!holds) throw new RangeError(`expected a possible ${what}, found ${String(found)}`);
}
