/** The hours ahead of each place: learned from its own past every half hour, told from its air now. */
import type { Logger } from "pino";
import type { Quantity } from "../../collector/readings.ts";
import { type HalfHour, halfHourMs } from "../forecast/half-hours.ts";
import { coolingFrom, type HourAhead, hoursAhead } from "../forecast/hours-ahead.ts";
import { learnPlace, type PlaceModel } from "../forecast/place-model.ts";
import { airHandlingOf } from "../plan/energy.ts";
import type { ShopPlace } from "../plan/plan-energy.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { ShopFile } from "../shop-file.ts";
import { heatingHours } from "../shop-places.ts";
import { assumedRhPercent, gapMs } from "./merge.ts";
import { seriesOf } from "./place-history.ts";
import type { CurrentValue } from "./place-now.ts";

export interface OutlookParts {
  shopFile: Pick<ShopFile, "places" | "outdoorPlace" | "energy">;
  store: ReadingStore;
  current: (place: string, quantity: Quantity) => CurrentValue | undefined;
  /** Local time minus UTC in ms at an instant. */
  offsetMs: (atMs: number) => number;
  logger: Logger;
}

/** The place from now on, with the forecast's warm edge, which a screen shows and no coat follows. */
export interface Outlook extends ShopPlace {
  hours: readonly HourAhead[];
}

const daysBack = 28;
/** A view asks for the same place many times over: within this time it gets the same answer. */
const sameForMs = 2_000;
/** A place whose past was too short is looked at again this often, so that a fresh past does not wait half an hour. */
const lookEveryMs = 60_000;

export class Outlooks {
  readonly #parts: OutlookParts;
  readonly #models = new Map<string, { model: PlaceModel; learnedAtMs: number }>();
  readonly #told = new Map<string, { atMs: number; outlook: Outlook | null }>();
  #timer: NodeJS.Timeout | null = null;
  #learning: Promise<void> | null = null;

  constructor(parts: OutlookParts) {
    this.#parts = parts;
  }

  /** Learns all places after it returns, and anew every half hour. */
  start(now: () => number): void {
    const relearn = () => {
      this.#learning ??= this.learn(now()).finally(() => {
        this.#learning = null;
      });
    };
    relearn();
    this.#timer = setInterval(relearn, lookEveryMs);
  }

  async stop(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    await this.#learning;
  }

  /** Learns each place from its last 28 days, unless it was within the last half hour. */
  async learn(nowMs: number): Promise<void> {
    const { shopFile, offsetMs, logger } = this.#parts;
    const { outdoorPlace } = shopFile;
    const pastOf = async (id: string) => {
      try {
        return await this.#pastOf(id, nowMs);
      } catch (error) {
        logger.error({ err: error, place: id }, "the past of a place could not be read; its last forecast stays");
        return null;
      }
    };
    const isDue = (id: string) => {
      const known = this.#models.get(id);
      return known === undefined || known.model.habits === null || nowMs - known.learnedAtMs >= halfHourMs;
    };
    const due = Object.entries(shopFile.places).filter(([id]) => isDue(id));
    const outdoor = outdoorPlace === undefined || due.length === 0 ? null : await pastOf(outdoorPlace);
    for (const [id, place] of due) {
      const past = id === outdoorPlace ? outdoor : await pastOf(id);
      if (past !== null) {
        const heating = heatingHours(place);
        const options = { offsetMs, ...(heating && { heating }), ...(outdoor && id !== outdoorPlace && { outdoor }) };
        this.#models.set(id, { model: learnPlace(past, options), learnedAtMs: nowMs });
      }
      await new Promise((resolve) => setImmediate(resolve));
    }
    this.#told.clear();
  }

  /** A place from now on; null where its air temperature is not known or older than ten minutes. */
  of(id: string, nowMs: number): Outlook | null {
    const told = this.#told.get(id);
    if (told !== undefined && nowMs >= told.atMs && nowMs - told.atMs < sameForMs) return told.outlook;
    const outlook = this.#tell(id, nowMs);
    this.#told.set(id, { atMs: nowMs, outlook });
    return outlook;
  }

  #tell(id: string, nowMs: number): Outlook | null {
    const { shopFile, current } = this.#parts;
    const place = shopFile.places[id];
    const value = (quantity: Quantity) => {
      const now = current(id, quantity);
      return now !== undefined && nowMs - now.atMs <= gapMs ? now.value : undefined;
    };
    const airC = value("air-temperature");
    if (place === undefined || airC === undefined) return null;
    const model = this.#modelOf(id);
    const hours = hoursAhead(model, { atMs: nowMs, airC });
    const airSpeedMps = value("air-speed") ?? place.airSpeedMps;
    const { outdoorPlace, energy } = shopFile;
    const outdoor = () =>
      outdoorPlace === undefined || outdoorPlace === id ? undefined : this.of(outdoorPlace, nowMs)?.hours;
    return {
      nowMs,
      airC,
      rhPercent: value("air-humidity") ?? assumedRhPercent,
      panelC: value("panel-temperature") ?? null,
      hours,
      coolingFrom: (offAtMs) => coolingFrom(model, hours, offAtMs, outdoor()),
      airHandling: energy === undefined ? null : airHandlingOf(energy, id, place.kind),
      ...(airSpeedMps === undefined ? {} : { airSpeedMps }),
    };
  }

  #modelOf(id: string): PlaceModel {
    return this.#models.get(id)?.model ?? learnPlace([], { offsetMs: this.#parts.offsetMs });
  }

  async #pastOf(id: string, nowMs: number): Promise<HalfHour[]> {
    const { shopFile, store } = this.#parts;
    const place = shopFile.places[id];
    const series = place && seriesOf(place).find(({ quantity }) => quantity === "air-temperature");
    if (series === undefined) return [];
    const toMs = Math.floor(nowMs / halfHourMs) * halfHourMs;
    const fromMs = toMs - daysBack * 24 * 2 * halfHourMs;
    const buckets = await store.thin(series, { fromMs, toMs, bucketMs: halfHourMs });
    return buckets.map(({ startMs, mean }) => ({ startMs, airC: mean }));
  }
}
