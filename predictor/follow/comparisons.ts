/** Two sensors of one quantity in a place, compared as their readings come. */
import { isUsable, type Quantity } from "../../collector/readings.ts";
import { type ReadingStore, type Series, type StoredReading, seriesKey } from "../readings/store.ts";
import { type Difference, NeighbourWatch } from "./neighbours.ts";
import { comparedSeriesOf, type Places, seriesOf } from "./place-history.ts";

interface Pair {
  place: string;
  quantity: Quantity;
  /** The one that is reckoned with, then the one it is compared with. */
  series: readonly [Series, Series];
  watch: NeighbourWatch;
}

export interface Compared extends Difference {
  quantity: Quantity;
  sensors: readonly [string, string];
}

/** How far back the store is asked at the start: what a drift is judged by. */
const lookBackMs = 24 * 60 * 60_000;

export class Comparisons {
  readonly #store: ReadingStore;
  readonly #pairs: Pair[] = [];
  readonly #bySeries = new Map<string, { watch: NeighbourWatch; which: 0 | 1 }[]>();

  constructor(store: ReadingStore, places: Places) {
    this.#store = store;
    for (const [place, settings] of Object.entries(places)) {
      const compared = comparedSeriesOf(settings);
      for (const first of seriesOf(settings)) {
        const second = compared.find(({ quantity }) => quantity === first.quantity);
        if (second === undefined) continue;
        const series = [first, second] as const;
        const watch = new NeighbourWatch(first.quantity);
        this.#pairs.push({ place, quantity: first.quantity, series, watch });
        for (const which of [0, 1] as const) {
          const key = seriesKey(series[which]);
          this.#bySeries.set(key, [...(this.#bySeries.get(key) ?? []), { watch, which }]);
        }
      }
    }
  }

  /** Takes up the last day from the store. */
  async start(now: () => number): Promise<void> {
    for (const { series, watch } of this.#pairs) {
      const nowMs = now();
      const [first, second] = await Promise.all(
        series.map((each) => this.#store.range(each, nowMs - lookBackMs, nowMs + 1)),
      );
      const both = [
        ...(first ?? []).map((sample) => ({ ...sample, which: 0 as const })),
        ...(second ?? []).map((sample) => ({ ...sample, which: 1 as const })),
      ].sort((a, b) => a.atMs - b.atMs);
      for (const { which, atMs, value, mark } of both) {
        if (isUsable({ quantity: series[0].quantity, value, ...(mark && { mark }) })) watch.take(which, atMs, value);
      }
    }
  }

  committed(readings: readonly StoredReading[]): void {
    if (this.#bySeries.size === 0) return;
    for (const reading of readings) {
      if (!isUsable(reading)) continue;
      for (const { watch, which } of this.#bySeries.get(seriesKey(reading)) ?? []) {
        watch.take(which, reading.atMs, reading.value);
      }
    }
  }

  /** The pairs of a place of which enough is known. */
  at(place: string, nowMs: number): Compared[] {
    return this.#pairs
      .filter((pair) => pair.place === place)
      .flatMap(({ quantity, series, watch }) => {
        const difference = watch.state(nowMs);
        if (difference === null) return [];
        const [first, second] = series;
        const sensors = [`${first.collector}/${first.sensor}`, `${second.collector}/${second.sensor}`] as const;
        return [{ quantity, sensors, ...difference }];
      });
  }
}
