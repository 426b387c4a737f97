/** What is known of the equipment of each place: gathered from the readings, the collectors' states and the shop file. */
import type { ClockState, CollectorState, Quantity } from "../../collector/readings.ts";
import type { Comparisons } from "../follow/comparisons.ts";
import type { Follow } from "../follow/follow.ts";
import { comparedSeriesOf, seriesOf } from "../follow/place-history.ts";
import { staleAfterMs } from "../follow/place-now.ts";
import type { Series } from "../readings/store.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { BadSensor, DifferingSensors, DueCalibration, Equipment, SilentSensor } from "./equipment.ts";

export interface EquipmentParts {
  shopFile: Pick<ShopFile, "places" | "collectors">;
  follow: Pick<Follow, "current" | "newest">;
  comparisons: Pick<Comparisons, "at" | "current" | "newest">;
  /** The newest state that each collector told, by its name. */
  collectors: () => ReadonlyMap<string, CollectorState>;
  /** This machine's. */
  clockState: () => ClockState;
  /** What keeps this machine from storing readings; null while nothing does. */
  storeFault: () => string | null;
  /** Whether a store on another machine is away. */
  storeAway: () => boolean;
  /** What is wrong with the records; null while nothing is. */
  recordsFault: () => string | null;
  shopTime: Pick<ShopTime, "isoDate">;
  now: () => number;
}

/** What is wrong with sensors by themselves. */
export type SensorTroubles = Pick<Equipment, "silent" | "bad" | "calibrations">;

/** Who knows a sensor's present: of those that are reckoned with, and of those they are compared with. */
type Told = Pick<Follow, "current" | "newest">;

/** A sensor that has not been heard since the start is missed after this long. */
const firstHeardWithinMs = 120_000;
/** A calibration is told of this long before it is due. */
const dueWithinMs = 14 * 24 * 60 * 60_000;

export class EquipmentWatch {
  readonly #parts: EquipmentParts;
  readonly #startedAtMs: number;

  constructor(parts: EquipmentParts) {
    this.#parts = parts;
    this.#startedAtMs = parts.now();
  }

  at(place: string): Equipment {
    const nowMs = this.#parts.now();
    const settings = this.#parts.shopFile.places[place];
    const series = settings === undefined ? [] : seriesOf(settings);
    return {
      ...this.#troubles(place, series, this.#parts.follow, nowMs),
      differing: this.#differing(place, nowMs),
      ...this.#machines(series),
    };
  }

  /** The sensors that a place's own are compared with. Nothing is reckoned from them, so that nobody is warned of what is wrong with them alone. */
  comparedAt(place: string): SensorTroubles {
    const settings = this.#parts.shopFile.places[place];
    const series = settings === undefined ? [] : comparedSeriesOf(settings);
    return this.#troubles(place, series, this.#parts.comparisons, this.#parts.now());
  }

  #troubles(place: string, series: readonly Series[], told: Told, nowMs: number): SensorTroubles {
    const bad = series.flatMap(({ quantity }) => badSensor(told, place, quantity, nowMs));
    const silent = series.flatMap(({ collector, sensor, quantity }): SilentSensor[] =>
      bad.some((each) => each.quantity === quantity)
        ? []
        : this.#silent(told, place, { quantity, sensor: `${collector}/${sensor}` }, nowMs),
    );
    return { silent, bad, calibrations: series.flatMap((each) => this.#calibration(each, nowMs)) };
  }

  #silent(told: Told, place: string, named: Pick<SilentSensor, "quantity" | "sensor">, nowMs: number): SilentSensor[] {
    const current = told.current(place, named.quantity);
    if (current === undefined) {
      return nowMs - this.#startedAtMs > firstHeardWithinMs ? [{ ...named, lastAtMs: null }] : [];
    }
    // What was read before the start, or comes late from an old backlog, says nothing of how the sensor is now.
    const sinceMs = Math.max(current.atMs, this.#startedAtMs);
    return nowMs - sinceMs <= staleAfterMs(current) ? [] : [{ ...named, lastAtMs: current.atMs }];
  }

  #differing(place: string, nowMs: number): DifferingSensors[] {
    return this.#parts.comparisons
      .at(place, nowMs)
      .flatMap(({ quantity, sensors, differs, byMedian, overHours }) =>
        differs === "no" ? [] : [{ quantity, sensors, byMedian, overHours }],
      );
  }

  #calibration({ collector, sensor, quantity }: Series, nowMs: number): DueCalibration[] {
    const due = this.#parts.shopFile.collectors[collector]?.instruments[sensor]?.[quantity]?.due;
    const { isoDate } = this.#parts.shopTime;
    if (due === undefined || due > isoDate(nowMs + dueWithinMs)) return [];
    return [{ sensor: `${collector}/${sensor}`, quantity, due, isOver: due < isoDate(nowMs) }];
  }

  /** This machine serves every place, a collector those that its sensors are in. */
  #machines(series: readonly Series[]): Pick<Equipment, "machines" | "storeFault" | "storeAway" | "recordsFault"> {
    const { clockState, collectors, storeFault, storeAway, recordsFault } = this.#parts;
    const own = { collector: null, clock: clockState(), undatedPacks: 0, outboxFault: null };
    const others = [...collectors()]
      .filter(([name, state]) => state.online && series.some(({ collector }) => collector === name))
      .map(([name, { clock, undatedPacks, outboxFault }]) => ({
        collector: name,
        clock,
        undatedPacks: undatedPacks ?? 0,
        outboxFault: outboxFault ?? null,
      }));
    return {
      machines: [own, ...others],
      storeFault: storeFault(),
      storeAway: storeAway(),
      recordsFault: recordsFault(),
    };
  }
}

/** A sensor that has fallen silent since is no longer bad but silent. */
function badSensor(told: Told, place: string, quantity: Quantity, nowMs: number): BadSensor[] {
  const newest = told.newest(place, quantity);
  if (newest?.mark?.quality !== "bad") return [];
  const current = told.current(place, quantity);
  const silentAfterMs = current === undefined ? firstHeardWithinMs : staleAfterMs(current);
  if (nowMs - newest.atMs > silentAfterMs) return [];
  return [{ quantity, sensor: newest.sensor, value: newest.value, why: newest.mark.why }];
}
