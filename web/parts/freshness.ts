/** Which figures may be shown as current, and a reading's way into a view before the whole view comes. */
import type { Climate, Current, PlaceView, ReadingEvent } from "../../predictor/serve/api.ts";

/** A figure that is current, one that is too old (its age stands in its place), or none at all. */
export type Figure = { kind: "current"; value: number } | { kind: "old"; ageMs: number } | { kind: "none" };

/** Judges a value by how long the predictor lets it count as current; a value whose instant cannot be read is old with an unknown age. */
export function figureOf(current: Current | null, nowMs: number): Figure {
  if (current === null) return { kind: "none" };
  const ageMs = nowMs - Date.parse(current.at);
  return ageMs <= 1000 * current.currentForSeconds ? { kind: "current", value: current.value } : { kind: "old", ageMs };
}

/** The margin over the dew point, current only while every figure it comes from is. */
export function marginOf(climate: Climate, nowMs: number): Figure {
  const sources = [climate.airC, climate.rhPercent, ...(climate.panelC === null ? [] : [climate.panelC])];
  let oldest = 0;
  for (const source of sources) {
    const figure = figureOf(source, nowMs);
    if (figure.kind === "none") return figure;
    if (figure.kind === "old") oldest = Math.max(oldest, figure.ageMs);
  }
  if (oldest !== 0) return { kind: "old", ageMs: oldest };
  return climate.dewMarginC === null ? { kind: "none" } : { kind: "current", value: climate.dewMarginC };
}

const figureNames = {
  "air-temperature": "airC",
  "air-humidity": "rhPercent",
  "panel-temperature": "panelC",
  "air-speed": "airSpeedMps",
} as const satisfies Record<string, keyof Climate>;

/** Puts a new reading into the view when it belongs to the sensor shown there and is newer; otherwise gives the same view back. */
export function withReading(view: PlaceView, reading: ReadingEvent): PlaceView {
  if (reading.place !== view.place.id || !(reading.quantity in figureNames)) return view;
  const name = figureNames[reading.quantity as keyof typeof figureNames];
  const shown = view.climate[name];
  if (shown === null || shown.sensor !== reading.sensor) return view;
  if (!(Date.parse(reading.at) > Date.parse(shown.at))) return view;
  return { ...view, climate: { ...view.climate, [name]: { ...shown, value: reading.value, at: reading.at } } };
}
