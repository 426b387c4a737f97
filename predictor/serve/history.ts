/** The climate of a place, or of a coat on its way through places, thinned in the database to what a chart can show. */
import type { Quantity } from "../../collector/readings.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { dewPointOrNull } from "../follow/current-air.ts";
import { type ClimatePlace, type Stay, seriesOf } from "../follow/place-history.ts";
import { type ReadingSource, rollUpMs } from "../readings/store.ts";
import type { ClimateHistory, CoatCourse } from "./api.ts";

type ClimatePlaces = Readonly<Record<string, ClimatePlace>>;

export const pointsAtMost = 2_000;

export interface HistorySpan {
  fromMs: number;
  toMs: number;
  /** How many buckets of whole seconds at most. */
  points: number;
  /** A bucket's least length; a second when absent. */
  bucketAtLeastMs?: number;
}

/** Of a coat's course: sensors that tell each minute leave no holes in it. */
export const courseBucketAtLeastMs = 60_000;

/** What the places of some stays had, each for its own time; fromMs < toMs. Where readings were rolled up, no finer than the roll-ups. */
export async function climateHistory(
  store: ReadingSource,
  places: ClimatePlaces,
  stays: readonly Stay[],
  span: HistorySpan,
): Promise<ClimateHistory> {
  const { history, isCoarse } = await historyOf(store, places, stays, span);
  if (!isCoarse) return history;
  return (await historyOf(store, places, stays, { ...span, bucketAtLeastMs: rollUpMs })).history;
}

async function historyOf(
  store: ReadingSource,
  places: ClimatePlaces,
  stays: readonly Stay[],
  { fromMs, toMs, points, bucketAtLeastMs = 1000 }: HistorySpan,
): Promise<{ history: ClimateHistory; isCoarse: boolean }> {
  const bucketMs = Math.max(bucketAtLeastMs, Math.ceil((toMs - fromMs) / points / 1000) * 1000);
  const count = Math.ceil((toMs - fromMs) / bucketMs);
  const empty = () => ({ mean: nulls(count), min: nulls(count), max: nulls(count) });
  const lines = { "air-temperature": empty(), "air-humidity": empty(), "panel-temperature": empty() };
  let isCoarse = false;

  for (const stay of stays) {
    // Buckets stay in step with each other; the one in which the car moved shows the place it came to.
    const first = Math.max(0, Math.floor((stay.fromMs - fromMs) / bucketMs));
    const span = { fromMs: fromMs + first * bucketMs, toMs: Math.min(stay.toMs, toMs), bucketMs };
    const place = places[stay.place];
    if (place === undefined || !(span.fromMs < span.toMs)) continue;
    for (const series of seriesOf(place)) {
      if (!isShown(series.quantity)) continue;
      const line = lines[series.quantity];
      for (const bucket of await store.thin(series, span)) {
        isCoarse ||= bucket.isCoarse === true;
        const index = Math.round((bucket.startMs - fromMs) / bucketMs);
        line.mean[index] = bucket.mean;
        line.min[index] = bucket.min;
        line.max[index] = bucket.max;
      }
    }
  }

  const air = lines["air-temperature"];
  const humidity = lines["air-humidity"];
  const history = {
    from: new Date(fromMs).toISOString(),
    to: new Date(toMs).toISOString(),
    bucketSeconds: bucketMs / 1000,
    at: Array.from({ length: count }, (_, index) => new Date(fromMs + index * bucketMs).toISOString()),
    airC: air,
    rhPercent: humidity,
    panelC: lines["panel-temperature"],
    dewPointC: air.mean.map((airC, index) => dewPointOrNull(airC, humidity.mean[index] ?? null)),
  };
  return { history, isCoarse };
}

/** A coat's own history: at least a second of it. */
export async function coatCourse(
  store: ReadingSource,
  places: ClimatePlaces,
  state: CoatState,
  { nowMs, points }: { nowMs: number; points: number },
): Promise<CoatCourse> {
  const fromMs = state.coat.finishedAtMs;
  const toMs = courseEndMs({ finishedAtMs: fromMs, stages: state.outcome.stages, stays: state.stays }, nowMs);
  const history = await climateHistory(store, places, state.stays, {
    fromMs,
    toMs,
    points,
    bucketAtLeastMs: courseBucketAtLeastMs,
  });
  const middles = history.at.map((at) => Math.min(Date.parse(at) + history.bucketSeconds * 500, toMs));
  const course = state.course(middles);
  return {
    ...history,
    followedPanelC: course.map((point) => point?.panelC ?? null),
    curePercent: course.map((point) => point?.curePercent ?? null),
  };
}

/** Whichever comes first: now, the car's leaving, or a tenth past the last stage's safe time; a second after the finish at least. */
export function courseEndMs(
  {
    finishedAtMs,
    stages,
    stays,
  }: { finishedAtMs: number; stages: readonly { safeAtMs: number | null }[]; stays: readonly Stay[] },
  nowMs: number,
): number {
  const lastSafeMs = stages.at(-1)?.safeAtMs ?? Number.POSITIVE_INFINITY;
  const cured = lastSafeMs + (lastSafeMs - finishedAtMs) / 10;
  return Math.max(Math.min(nowMs, stays.at(-1)?.toMs ?? Number.POSITIVE_INFINITY, cured), finishedAtMs + 1000);
}

function isShown(quantity: Quantity): quantity is "air-temperature" | "air-humidity" | "panel-temperature" {
  return quantity === "air-temperature" || quantity === "air-humidity" || quantity === "panel-temperature";
}

function nulls(count: number): (number | null)[] {
  return new Array<number | null>(count).fill(null);
}
