/** The climate a place had, and the climate a car had on its way through places: from the store of readings. */
import type { Quantity } from "../../collector/readings.ts";
import type { ClimateReading } from "../cure/climb.ts";
import type { ReadingSource, Sample, Series } from "../readings/store.ts";
import type { Move } from "../records/records.ts";
import type { PlaceSettings } from "../shop-file.ts";
import { byTimeThenAirLast, ClimateMerger, gapMs, type PlaceReading } from "./merge.ts";

export type Places = Readonly<Record<string, PlaceSettings>>;
/** What of a place tells of its climate. */
export interface ClimatePlace {
  sensors: Readonly<Partial<Record<Quantity, string | undefined>>>;
  airSpeedMps?: number | undefined;
}
type History = Pick<ReadingSource, "range" | "latest">;

/** The series that tell a place's quantities, by the shop file. */
export function seriesOf({ sensors }: Pick<ClimatePlace, "sensors">): Series[] {
  return seriesNamed(sensors);
}

/** The second sensors that some of them are compared with. */
export function comparedSeriesOf({ compare = {} }: Pick<PlaceSettings, "compare">): Series[] {
  return seriesNamed(compare);
}

function seriesNamed(sensors: Partial<Record<Quantity, string | undefined>>): Series[] {
  return Object.entries(sensors).flatMap(([quantity, reference]) => {
    const [collector, sensor] = reference?.split("/") ?? [];
    return collector === undefined || sensor === undefined
      ? []
      : [{ collector, sensor, quantity: quantity as Quantity }];
  });
}

/**
 * Climate readings of a place with fromMs ≤ instant < toMs, in order, and the merger that made them, ready for more.
 * `hasMeans`: some rest on roll-ups, since the readings themselves are no longer kept.
 */
export async function placeHistory(
  store: History,
  place: ClimatePlace,
  fromMs: number,
  toMs: number,
): Promise<{ readings: ClimateReading[]; merger: ClimateMerger; hasMeans: boolean }> {
  const merger = new ClimateMerger(place.airSpeedMps);
  const lines: (PlaceReading & Sample)[] = [];
  for (const series of seriesOf(place)) {
    if (series.quantity !== "air-temperature") {
      const before = await store.latest(series, fromMs - 1);
      if (before !== undefined) lines.push({ quantity: series.quantity, ...before });
    }
    for (const sample of await store.range(series, fromMs, toMs)) lines.push({ quantity: series.quantity, ...sample });
  }
  lines.sort(byTimeThenAirLast);
  const readings = lines.map((line) => merger.push(line)).filter((reading) => reading !== null);
  return { readings, merger, hasMeans: lines.some(({ meanOverMs }) => meanOverMs !== undefined) };
}

/** A stretch of time in one place. */
export interface Stay {
  place: string;
  fromMs: number;
  /** Infinity while it lasts. */
  toMs: number;
}

/**
 * Where the car stood from an instant on; the place of that instant counts as its place before, too. A move to the place
 * where the car stands already is none.
 */
export function staysFrom(allMoves: readonly Move[], fromMs: number): Stay[] {
  const moves = allMoves.filter((move, index) => move.place !== allMoves[index - 1]?.place);
  return moves.flatMap((move, index) => {
    const toMs = moves[index + 1]?.atMs ?? Number.POSITIVE_INFINITY;
    return move.place === null || !(toMs > fromMs)
      ? []
      : [{ place: move.place, fromMs: Math.max(move.atMs, fromMs), toMs }];
  });
}

/**
 * The history that a coat really had: its places' climates one after another. At a move the old place's last reading is
 * held to the instant of the move and the new place's newest is taken from it, marked `movedIn`, where either is at most
 * ten minutes old; else the silence is left for the model to treat as a gap.
 */
export async function carHistory(
  store: History,
  places: Readonly<Record<string, ClimatePlace>>,
  stays: readonly Stay[],
): Promise<{ readings: ClimateReading[]; arrivalPending: boolean; hasMeans: boolean }> {
  const history: ClimateReading[] = [];
  let arrivalPending = false;
  let hasMeans = false;
  for (const [index, stay] of stays.entries()) {
    const place = places[stay.place];
    if (place === undefined) continue;
    const { readings, ...of } = await placeHistory(store, place, stay.fromMs - gapMs, stay.toMs);
    hasMeans ||= of.hasMeans;
    const before = readings.filter((reading) => reading.atMs <= stay.fromMs);
    const during = readings.filter((reading) => reading.atMs > stay.fromMs);
    const newest = before.at(-1);
    arrivalPending = false;
    if (index === 0) {
      if (newest !== undefined) history.push(newest);
    } else {
      const last = history.at(-1);
      if (last !== undefined && last.atMs < stay.fromMs && stay.fromMs - last.atMs <= gapMs) {
        history.push(heldAt(last, stay.fromMs));
      }
      if (newest !== undefined) history.push({ ...newest, atMs: stay.fromMs, movedIn: true });
      else if (during[0] !== undefined) during[0] = { ...during[0], movedIn: true };
      else arrivalPending = true;
    }
    for (const reading of during) history.push(reading);
  }
  return { readings: history, arrivalPending, hasMeans };
}

function heldAt(reading: ClimateReading, atMs: number): ClimateReading {
  const { movedIn: _, ...held } = reading;
  return { ...held, atMs };
}
