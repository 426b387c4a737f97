/** Two sensors of one quantity in a place, compared as their readings come. */
import { isUsable, type Quantity } from "../../collector/readings.ts";
import { type ReadingStore, type Series, type StoredReading, seriesKey } from "../readings/store.ts";
import type { PlaceReading } from "./merge.ts";
import { type Difference, NeighbourWatch } from "./neighbours.ts";
import { comparedSeriesOf, type Places, seriesOf } from "./place-history.ts";
import { type CurrentValue, type NewestReading, PlaceNow } from "./place-now.ts";

interface Pair {
  place: string;
  quantity: Quantity;
  /** The one that is reckoned with, then the one it is compared with. */
  series: readonly [Series, Series];
  watch: NeighbourWatch;
  /** Of the second: nothing else follows it. */
  second: PlaceNow;
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
  readonly #bySeries = new Map<string, { pair: Pair; which: 0 | 1 }[]>();

  constructor(store: ReadingStore, places: Places) {
    this.#store = store;
    for (const [place, settings] of Object.entries(places)) {
      const compared = comparedSeriesOf(settings);
      for (const first of seriesOf(settings)) {
        const second = compared.find(({ quantity }) => quantity === first.quantity);
        if (second === undefined) continue;
        const series = [first, second] as const;
        const watch = new NeighbourWatch(first.quantity);
        const pair = { place, quantity: first.quantity, series, watch, second: new PlaceNow() };
        this.#pairs.push(pair);
        for (const which of [0, 1] as const) {
          const key = seriesKey(series[which]);
          this.#bySeries.set(key, [...(this.#bySeries.get(key) ?? []), { pair, which }]);
        }
      }
    }
  }

  /** Takes up the last day from the store. */
  async start(now: () => number): Promise<void> {
    for (const pair of this.#pairs) {
      const nowMs = now();
      const [first, second] = await Promise.all(
        pair.series.map((each) => this.#store.range(each, nowMs - lookBackMs, nowMs + 1)),
      );
      const both = [
        ...(first ?? []).map((sample) => ({ ...sample, which: 0 as const })),
        ...(second ?? []).map((sample) => ({ ...sample, which: 1 as const })),
      ].sort((a, b) => a.atMs - b.atMs);
      for (const { which, atMs, value, mark } of both) {
        take(pair, which, { quantity: pair.quantity, atMs, value, ...(mark && { mark }) });
      }
    }
  }

  committed(readings: readonly StoredReading[]): void {
    if (this.#bySeries.size === 0) return;
    for (const reading of readings) {
      for (const { pair, which } of this.#bySeries.get(seriesKey(reading)) ?? []) take(pair, which, reading);
    }
  }

  /** The newest value of use of the second sensor of a quantity, as Follow tells it of the first. */
  current(place: string, quantity: Quantity): CurrentValue | undefined {
    return this.#secondOf(place, quantity)?.get(quantity);
  }

  /** Its newest reading, be it of use or not. */
  newest(place: string, quantity: Quantity): NewestReading | undefined {
    return this.#secondOf(place, quantity)?.newest(quantity);
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

  #secondOf(place: string, quantity: Quantity): PlaceNow | undefined {
    return this.#pairs.find((pair) => pair.place === place && pair.quantity === quantity)?.second;
  }
}

function take({ series, watch, second }: Pair, which: 0 | 1, reading: PlaceReading): void {
  if (which === 1) second.take(reading, `${series[1].collector}/${series[1].sensor}`);
  if (isUsable(reading)) watch.take(which, reading.atMs, reading.value);
}
