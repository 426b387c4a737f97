/** A place's climate over a span, thinned in the database to what a chart can show. */
import { type Quantity, quantities } from "../../collector/readings.ts";
import { dewPointOrNull } from "../follow/current-air.ts";
import { seriesOf } from "../follow/place-history.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { PlaceSettings } from "../shop-file.ts";
import type { ClimateHistory } from "./api.ts";

export const pointsAtMost = 2_000;

/** At most `points` buckets of whole seconds between two instants; fromMs < toMs. */
export async function climateHistory(
  store: ReadingStore,
  place: PlaceSettings,
  fromMs: number,
  toMs: number,
  points: number,
): Promise<ClimateHistory> {
  const bucketMs = Math.max(1, Math.ceil((toMs - fromMs) / points / 1000)) * 1000;
  const count = Math.ceil((toMs - fromMs) / bucketMs);
  const empty = () => ({ mean: nulls(count), min: nulls(count), max: nulls(count) });
  const lines = { "air-temperature": empty(), "air-humidity": empty(), "panel-temperature": empty() };

  for (const series of seriesOf(place)) {
    if (!isShown(series.quantity)) continue;
    const line = lines[series.quantity];
    const { lowest, highest } = quantities[series.quantity];
    for (const bucket of await store.thin(series, { fromMs, toMs, bucketMs, lowest, highest })) {
      const index = Math.round((bucket.startMs - fromMs) / bucketMs);
      line.mean[index] = bucket.mean;
      line.min[index] = bucket.min;
      line.max[index] = bucket.max;
    }
  }

  const air = lines["air-temperature"];
  const humidity = lines["air-humidity"];
  return {
    from: new Date(fromMs).toISOString(),
    to: new Date(toMs).toISOString(),
    bucketSeconds: bucketMs / 1000,
    at: Array.from({ length: count }, (_, index) => new Date(fromMs + index * bucketMs).toISOString()),
    airC: air,
    rhPercent: humidity,
    panelC: lines["panel-temperature"],
    dewPointC: air.mean.map((airC, index) => dewPointOrNull(airC, humidity.mean[index] ?? null)),
  };
}

function isShown(quantity: Quantity): quantity is "air-temperature" | "air-humidity" | "panel-temperature" {
  return quantity === "air-temperature" || quantity === "air-humidity" || quantity === "panel-temperature";
}

function nulls(count: number): (number | null)[] {
  return new Array<number | null>(count).fill(null);
}
