/** What a car's coats will get under a plan. */
import type { Ahead, ClimateReading } from "../cure/climb.ts";
import { aheadOf, cooled, humidityInPlace, type PlaceAhead } from "./place-ahead.ts";
import { type PlanStart, type PlanStep, type Span, spansOf } from "./plan-step.ts";

/** Air speed round the panel during a bake, in m/s; assumed. */
const bakeAirSpeedMps = 0.5;

/**
 * The conditions from now on round one car under a plan, which must be without faults (`planFaults`). A bake sets the
 * air at once and leaves its vapour as it is; the panel follows by its own lag. From the first bake on no panel sensor
 * is believed, since none has been baked.
 */
export function planAhead(
  steps: readonly PlanStep[],
  start: PlanStart,
  places: Readonly<Record<string, PlaceAhead>>,
): Required<Ahead> {
  const spans = spansOf(steps, start);
  const firstBakeAt = spans.findIndex(({ bakeC }) => bakeC !== null);
  const parts = spans.map((span, index) => {
    const part = spanAhead(span, places);
    return firstBakeAt >= 0 && index >= firstBakeAt
      ? { likely: part.likely.map(withoutPanel), cold: part.cold.map(withoutPanel) }
      : part;
  });
  return { likely: parts.flatMap(({ likely }) => likely), cold: parts.flatMap(({ cold }) => cold) };
}

function spanAhead(span: Span, places: Readonly<Record<string, PlaceAhead>>): Required<Ahead> {
  const { fromMs, toMs, bakeC, movedIn, heatingOffAtMs } = span;
  const present = places[span.place] as PlaceAhead;
  const place = heatingOffAtMs === null ? present : cooled(present, heatingOffAtMs);
  const { likely, cold } = bakeC === null ? aheadOf(place, fromMs, toMs) : bakeAhead(present, bakeC, fromMs, toMs);
  return movedIn ? { likely: withArrival(likely), cold: withArrival(cold) } : { likely, cold };
}

function bakeAhead(present: PlaceAhead, bakeC: number, fromMs: number, toMs: number): Required<Ahead> {
  const rhPercent = humidityInPlace(present, bakeC);
  const readings = [fromMs, toMs].map((atMs) => ({ atMs, airC: bakeC, rhPercent, airSpeedMps: bakeAirSpeedMps }));
  return { likely: readings, cold: readings };
}

function withArrival(readings: readonly ClimateReading[]): ClimateReading[] {
  return readings.map((reading, index) => (index === 0 ? { ...reading, movedIn: true } : reading));
}

function withoutPanel({ panelC: _, ...reading }: ClimateReading): ClimateReading {
  return reading;
}
