/** What is known of the equipment of each place: gathered from the readings, the collectors' states and the shop file. */
import type { ClockState, CollectorState, Quantity } from "../../collector/readings.ts";
import type { Comparisons } from "../follow/comparisons.ts";
import type { Follow } from "../follow/follow.ts";
import { seriesOf } from "../follow/place-history.ts";
import { staleAfterMs } from "../follow/place-now.ts";
import type { Series } from "../readings/store.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { BadSensor, DifferingSensors, DueCalibration, Equipment, SilentSensor } from "./equipment.ts";

export interface EquipmentParts {
  shopFile: Pick<ShopFile, "places" | "collectors">;
  follow: Pick<Follow, "current" | "newest">;
  comparisons: Pick<Comparisons, "at">;
  /** The newest state that each collector told, by its name. */
  collectors: () => ReadonlyMap<string, CollectorState>;
  /** This machine's. */
  clockState: () => ClockState;
  /** What keeps this machine from storing readings; null while nothing does. */
  storeFault: () => string | null;
  /** What is wrong with the records; null while nothing is. */
  recordsFault: () => string | null;
  shopTime: Pick<ShopTime, "isoDate">;
  now: () => number;
}

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
    const bad = series.flatMap(({ quantity }) => this.#bad(place, quantity, nowMs));
    const silent = series.flatMap(({ collector, sensor, quantity }): SilentSensor[] =>
      bad.some((each) => each.quantity === quantity)
        ? []
        : this.#silent(place, quantity, `${collector}/${sensor}`, nowMs),
    );
    return {
      silent,
      bad,
      differing: this.#differing(place, nowMs),
      calibrations: series.flatMap((each) => this.#calibration(each, nowMs)),
      ...this.#machines(series),
    };
  }

  #silent(place: string, quantity: Quantity, sensor: string, nowMs: number): SilentSensor[] {
    const current = this.#parts.follow.current(place, quantity);
    if (current === undefined) {
      return nowMs - this.#startedAtMs > firstHeardWithinMs ? [{ quantity, sensor, lastAtMs: null }] : [];
    }
    // What was read before the start, or comes late from an old backlog, says nothing of how the sensor is now.
    const sinceMs = Math.max(current.atMs, this.#startedAtMs);
    return nowMs - sinceMs <= staleAfterMs(current) ? [] : [{ quantity, sensor, lastAtMs: current.atMs }];
  }

  /** A sensor that has fallen silent since is no longer bad but silent. */
  #bad(place: string, quantity: Quantity, nowMs: number): BadSensor[] {
    const newest = this.#parts.follow.newest(place, quantity);
    if (newest?.mark?.quality !== "bad") return [];
    const current = this.#parts.follow.current(place, quantity);
    const silentAfterMs = current === undefined ? firstHeardWithinMs : staleAfterMs(current);
    if (nowMs - newest.atMs > silentAfterMs) return [];
    return [{ quantity, sensor: newest.sensor, value: newest.value, why: newest.mark.why }];
  }

  #differing(place: string, nowMs: number): DifferingSensors[] {
    return this.#parts.comparisons
      .at(place, nowMs)
      .flatMap(({ quantity, sensors, differs, byMedian, overHours }) =>
        differs === "no" ? [] : [{ quantity, sensors, byMedian, overHours }],
      );
  }

  #calibration(
    { collector, sensor, quantity }: { collector: string; sensor: string; quantity: Quantity },
    nowMs: number,
  ): DueCalibration[] {
    const due = this.#parts.shopFile.collectors[collector]?.instruments[sensor]?.[quantity]?.due;
    const { isoDate } = this.#parts.shopTime;
    if (due === undefined || due > isoDate(nowMs + dueWithinMs)) return [];
    return [{ sensor: `${collector}/${sensor}`, quantity, due, isOver: due < isoDate(nowMs) }];
  }

  /** This machine serves every place, a collector those that its sensors are in. */
  #machines(series: readonly Series[]): Pick<Equipment, "machines" | "storeFault" | "recordsFault"> {
    const { clockState, collectors, storeFault, recordsFault } = this.#parts;
    const own = { collector: null, clock: clockState(), undatedPacks: 0, outboxFault: null };
    const others = [...collectors()]
      .filter(([name, state]) => state.online && series.some(({ collector }) => collector === name))
      .map(([name, { clock, undatedPacks, outboxFault }]) => ({
        collector: name,
        clock,
        undatedPacks: undatedPacks ?? 0,
        outboxFault: outboxFault ?? null,
      }));
    return { machines: [own, ...others], storeFault: storeFault(), recordsFault: recordsFault() };
  }
}
