/** For how much of each day there are readings of each place: counted in the database, a day of one sensor at a time. */
import { setImmediate as nextTurn } from "node:timers/promises";
import type { Quantity } from "../../collector/readings.ts";
import { type Places, seriesOf } from "../follow/place-history.ts";
import { type ReadingStore, type Series, type StoredReading, seriesKey } from "../readings/store.ts";
import type { ShopDay, ShopTime } from "../shop-time.ts";

/** A step of this length counts whole when it has a reading of use. */
export const stepMinutes = 5;
const stepMs = stepMinutes * 60_000;

/** What a coat is judged by. */
const countedQuantities: readonly Quantity[] = ["air-temperature", "air-humidity", "panel-temperature"];

export interface CoverageDay extends ShopDay {
  /** What there is to be had: of today only the steps that are over. */
  minutes: number;
}

export interface CoverageLine extends Series {
  place: string;
  /** With a reading, for each day; null while that is not counted yet. */
  minutes: (number | null)[];
}

interface CoverageParts {
  store: Pick<ReadingStore, "countBuckets">;
  places: Places;
  shopTime: Pick<ShopTime, "daysUntil">;
  now: () => number;
}

/** Days that are over are counted once and kept, until late readings of them come. */
export class Coverage {
  readonly #parts: CoverageParts;
  readonly #lines: (Series & { place: string })[];
  /** By the start of the day: its minutes by series. */
  readonly #counted = new Map<number, { day: ShopDay; minutes: Map<string, Promise<number>> }>();
  #countedUntilMs = Number.NEGATIVE_INFINITY;

  constructor(parts: CoverageParts) {
    this.#parts = parts;
    this.#lines = Object.entries(parts.places).flatMap(([place, settings]) =>
      seriesOf(settings)
        .filter(({ quantity }) => countedQuantities.includes(quantity))
        .map((series) => ({ place, ...series })),
    );
  }

  /** A day that was counted and gets late readings is counted anew when it is asked for. */
  committed(readings: readonly StoredReading[]): void {
    for (const reading of readings) {
      if (reading.atMs >= this.#countedUntilMs) continue;
      for (const { day, minutes } of this.#counted.values()) {
        if (reading.atMs >= day.fromMs && reading.atMs < day.toMs) minutes.delete(seriesKey(reading));
      }
    }
  }

  /** The last days of the shop's calendar, today last. What can't be counted within `withinMs` is left for the next time. */
  async count(dayCount: number, withinMs: number): Promise<{ days: CoverageDay[]; lines: CoverageLine[] }> {
    const nowMs = this.#parts.now();
    const days = this.#parts.shopTime.daysUntil(nowMs, dayCount);
    this.#forgetBefore(nowMs);
    const lines = this.#lines.map((line) => ({ ...line, minutes: new Array<number | null>(days.length).fill(null) }));
    const untilMs = performance.now() + withinMs;
    // The newest day first: it is the one that is looked at.
    for (const [index, day] of [...days.entries()].reverse()) {
      for (const line of lines) {
        if (performance.now() > untilMs) break;
        line.minutes[index] = await this.#minutesOf(line, day, nowMs);
      }
    }
    return { days: days.map((day) => ({ ...day, minutes: minutesIn(stepsOver(day, nowMs)) })), lines };
  }

  #minutesOf(series: Series, day: ShopDay, nowMs: number): Promise<number> {
    if (day.toMs > nowMs) return this.#countNow(series, day, nowMs);
    const { minutes } = this.#counted.get(day.fromMs) ?? { minutes: new Map<string, Promise<number>>() };
    this.#counted.set(day.fromMs, { day, minutes });
    this.#countedUntilMs = Math.max(this.#countedUntilMs, day.toMs);
    const key = seriesKey(series);
    let counting = minutes.get(key);
    if (counting === undefined) {
      counting = this.#countNow(series, day, nowMs);
      minutes.set(key, counting);
      counting.catch(() => minutes.delete(key));
    }
    return counting;
  }

  async #countNow({ collector, sensor, quantity }: Series, day: ShopDay, nowMs: number): Promise<number> {
    const span = { fromMs: day.fromMs, toMs: day.fromMs + stepsOver(day, nowMs) * stepMs, bucketMs: stepMs };
    const steps = await this.#parts.store.countBuckets({ collector, sensor, quantity }, span);
    // Counting a day takes the database some milliseconds: whatever else waits comes before the next one.
    await nextTurn();
    return minutesIn(steps);
  }

  #forgetBefore(nowMs: number): void {
    for (const [fromMs, { day }] of this.#counted) if (day.toMs < nowMs - keptMs) this.#counted.delete(fromMs);
  }
}

export const daysAtMost = 90;
/** One more, for days of 25 hours. */
const keptMs = (daysAtMost + 1) * 24 * 3_600_000;

const minutesIn = (steps: number): number => steps * stepMinutes;

function stepsOver(day: ShopDay, nowMs: number): number {
  return Math.floor((Math.min(day.toMs, nowMs) - day.fromMs) / stepMs);
}
