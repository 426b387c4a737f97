/** Follows every live coat: each committed reading moves it on, each edit or late reading has it made anew. */
import type { Logger } from "pino";
import { isUsable, type Quantity } from "../../collector/readings.ts";
import type { CoatSetup, Outcome } from "../cure/climb.ts";
import type { Substrate } from "../cure/panel.ts";
import type { Sheet } from "../cure/sheet.ts";
import { aheadOf } from "../plan/place-ahead.ts";
import { type ReadingStore, StoreAway, type StoredReading, seriesKey } from "../readings/store.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { sheetSetup } from "./coat-setup.ts";
import { type CoatState, isCovered } from "./coat-state.ts";
import { FollowedCoat } from "./followed-coat.ts";
import { Lessons, type SheetLesson } from "./lessons.ts";
import { byTimeThenAirLast, type ClimateMerger, gapMs, type PlaceReading } from "./merge.ts";
import { type Outlook, Outlooks } from "./outlooks.ts";
import { type Places, placeHistory, seriesOf } from "./place-history.ts";
import { type CurrentValue, type NewestReading, PlaceNow } from "./place-now.ts";

export interface FreshReading extends PlaceReading {
  place: string;
  sensor: string;
}

/** What has changed: places to show anew, and the readings that came, but for those that are of no use. */
export interface Change {
  places: ReadonlySet<string>;
  readings: readonly FreshReading[];
}

export interface FollowParts {
  store: ReadingStore;
  records: Records;
  shopFile: Pick<ShopFile, "places" | "outdoorPlace" | "energy" | "learning">;
  /** Local time minus UTC in ms at an instant. */
  offsetMs: (atMs: number) => number;
  now: () => number;
  logger: Logger;
}

/** A store that is away is asked again after this long, or with the next reading. Assumed. */
const storeAgainMs = 10_000;

export class Follow {
  readonly #parts: FollowParts;
  readonly #places: Places;
  readonly #lessons: Lessons;
  readonly #outlooks: Outlooks;
  /** Which places a series tells of. */
  readonly #placesBySeries = new Map<string, string[]>();
  readonly #now = new Map<string, PlaceNow>();
  readonly #mergers = new Map<string, ClimateMerger>();
  readonly #coats = new Map<string, FollowedCoat>();
  readonly #toRebuild = new Set<string>();
  readonly #listeners = new Set<(change: Change) => void>();
  #rebuilding: Promise<void> | null = null;
  #again: NodeJS.Timeout | undefined;
  #stopped = false;
  readonly #stopListening: (() => void)[] = [];

  constructor(parts: FollowParts) {
    this.#parts = parts;
    const { store, records, shopFile, offsetMs, logger } = parts;
    const { places, learning } = shopFile;
    this.#places = places;
    this.#lessons = new Lessons({ store, records, places, learning });
    const current = (place: string, quantity: Quantity) => this.current(place, quantity);
    this.#outlooks = new Outlooks({ shopFile, store, current, offsetMs, logger });
    for (const [name, place] of Object.entries(places)) {
      this.#now.set(name, new PlaceNow());
      for (const series of seriesOf(place)) {
        const key = seriesKey(series);
        this.#placesBySeries.set(key, [...(this.#placesBySeries.get(key) ?? []), name]);
      }
    }
  }

  /** Takes up where the store and the records stand. Coats' histories are read after it returns, one after another. */
  async start(): Promise<void> {
    const { store, records, now } = this.#parts;
    for (const [name, place] of Object.entries(this.#places)) {
      let newestMs = Number.NEGATIVE_INFINITY;
      for (const series of seriesOf(place)) {
        const latest = await store.latest(series);
        if (latest === undefined) continue;
        newestMs = Math.max(newestMs, latest.atMs);
        for (const sample of await store.range(series, latest.atMs - gapMs, latest.atMs + 1)) {
          this.#now.get(name)?.take({ quantity: series.quantity, ...sample }, `${series.collector}/${series.sensor}`);
        }
      }
      const { merger } = await placeHistory(
        store,
        place,
        newestMs === Number.NEGATIVE_INFINITY ? 0 : newestMs - gapMs,
        newestMs + 1,
      );
      this.#mergers.set(name, merger);
    }
    this.#outlooks.start(now);
    this.#stopListening.push(
      records.onCheck((sheetId, revision) => this.#relearn(sheetId, revision)),
      records.onChange((carId) => this.#takeUpCar(carId)),
    );
    for (const car of records.carsHere()) this.#takeUpCar(car.id);
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    clearTimeout(this.#again);
    for (const stopListening of this.#stopListening) stopListening();
    await this.#outlooks.stop();
    await this.#rebuilding;
  }

  /** Calls back after each change; the function returned ends it. */
  onChange(listener: (change: Change) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Takes readings that the store has committed and did not have before. */
  committed(stored: readonly StoredReading[]): void {
    const byPlace = new Map<string, FreshReading[]>();
    for (const reading of stored) {
      for (const place of this.#placesBySeries.get(seriesKey(reading)) ?? []) {
        const fresh = { ...reading, place, sensor: `${reading.collector}/${reading.sensor}` };
        byPlace.set(place, [...(byPlace.get(place) ?? []), fresh]);
        this.#now.get(place)?.take(reading, fresh.sensor);
      }
    }
    for (const [place, readings] of byPlace) this.#take(place, readings.sort(byTimeThenAirLast));
    const shown = [...byPlace.values()].flat().filter(isUsable);
    if (byPlace.size > 0) this.#tell({ places: new Set(byPlace.keys()), readings: shown });
  }

  current(place: string, quantity: Quantity): CurrentValue | undefined {
    return this.#now.get(place)?.get(quantity);
  }

  /** The newest reading of a quantity, be it of use or not. */
  newest(place: string, quantity: Quantity): NewestReading | undefined {
    return this.#now.get(place)?.newest(quantity);
  }

  /** A place from now on; null where its air is not known. */
  outlook(place: string): Outlook | null {
    return this.#outlooks.of(place, this.#parts.now());
  }

  /** What the checks so far say of a sheet's revision. */
  lesson(sheet: Sheet): Promise<SheetLesson> {
    return this.#lessons.learned(sheet);
  }

  /** What a new coat by this sheet would start with, by what its checks teach. */
  async freshSetup(sheet: Sheet, substrate: Substrate): Promise<Omit<CoatSetup, "finishedAtMs">> {
    await this.#lessons.learned(sheet);
    return { ...sheetSetup(sheet, substrate), ...this.#lessons.setupOf(sheet) };
  }

  /** Coats that stand in a place and are not covered. */
  coatsAt(place: string): CoatState[] {
    return [...this.#coats.values()]
      .filter((followed) => followed.place === place)
      .map((followed) => this.#state(followed));
  }

  coatsOf(carId: string): CoatState[] {
    return [...this.#coats.values()]
      .filter((followed) => followed.car.id === carId)
      .map((followed) => this.#state(followed));
  }

  /** Any coat on record, live or not. Throws RecordFault when there is none. */
  async coat(id: string): Promise<CoatState> {
    if (this.#toRebuild.has(id) || this.#coats.get(id)?.isPending) await this.#rebuilding;
    const live = this.#coats.get(id);
    if (live !== undefined) return this.#state(live);
    const { records } = this.#parts;
    const coat = records.coat(id);
    const followed = new FollowedCoat(coat, records.car(coat.carId), records.sheet(coat.sheetId, coat.sheetRevision));
    await this.#rebuild(followed);
    return { ...this.#state(followed), covered: isCovered(coat, records.coatsOf(coat.carId)) };
  }

  async #rebuild(followed: FollowedCoat): Promise<boolean> {
    await this.#lessons.learned(followed.sheet);
    return followed.rebuild(this.#parts.store, this.#places, this.#lessons.setupOf(followed.sheet));
  }

  #state(followed: FollowedCoat): CoatState {
    const nowMs = this.#parts.now();
    let outcome: Outcome | null = null;
    const { place } = followed;
    const ahead = () => {
      const outlook = place === null ? null : this.#outlooks.of(place, nowMs);
      return outlook === null ? undefined : aheadOf(outlook, nowMs);
    };
    return {
      coat: followed.coat,
      car: followed.car,
      sheet: followed.sheet,
      place,
      covered: false,
      isPending: followed.isPending,
      stays: followed.stays,
      // Reckoned when asked for, and once: who only wants to know where coats stand need not wait for it.
      get outcome() {
        outcome ??= followed.recentOutcome(nowMs, ahead);
        return outcome;
      },
      outcomeUnder: (asOfMs, under) => followed.outcome(asOfMs, under),
      course: (instantsMs) => followed.course(instantsMs),
      lesson: this.#lessons.of(followed.sheet),
      lastReadingAtMs: followed.lastReadingAtMs,
    };
  }

  /** Feeds one place's readings to the coats that stand there, or has coats made anew where readings came late. */
  #take(place: string, readings: readonly FreshReading[]): void {
    const merger = this.#mergers.get(place);
    if (merger === undefined) return;
    for (const reading of readings) {
      if (merger.isLate(reading)) {
        for (const followed of this.#coats.values()) {
          if (!followed.isTouchedBy(place, reading.atMs)) continue;
          this.#toRebuild.add(followed.coat.id);
          if (this.#lessons.forgetCoat(followed.coat)) this.#rebuildBySheet(followed.sheet.id, followed.sheet.revision);
        }
        continue;
      }
      const climate = merger.push(reading);
      if (climate === null) continue;
      for (const followed of this.#coats.values()) {
        const concern = followed.concernOf(place, climate.atMs);
        if (concern === "past" || (concern === "next" && !followed.append(climate)))
          this.#toRebuild.add(followed.coat.id);
      }
    }
    this.#rebuildSoon();
  }

  #relearn(sheetId: string, revision: number): void {
    this.#lessons.forgetSheet(sheetId, revision);
    this.#rebuildBySheet(sheetId, revision);
    this.#rebuildSoon();
  }

  #rebuildBySheet(sheetId: string, revision: number): void {
    for (const { coat } of this.#coats.values()) {
      if (coat.sheetId === sheetId && coat.sheetRevision === revision) this.#toRebuild.add(coat.id);
    }
  }

  #takeUpCar(carId: string): void {
    const { records } = this.#parts;
    const car = records.car(carId);
    const before = [...this.#coats.values()].filter((followed) => followed.car.id === carId);
    const touched = new Set(before.flatMap((followed) => (followed.place === null ? [] : [followed.place])));
    for (const followed of before) this.#coats.delete(followed.coat.id);
    const coats = records.coatsOf(carId);
    for (const coat of coats) {
      if (this.#lessons.forgetCoat(coat)) this.#rebuildBySheet(coat.sheetId, coat.sheetRevision);
    }
    if (car.moves.at(-1)?.place != null) {
      for (const coat of coats) {
        if (isCovered(coat, coats)) continue;
        this.#coats.set(coat.id, new FollowedCoat(coat, car, records.sheet(coat.sheetId, coat.sheetRevision)));
        this.#toRebuild.add(coat.id);
      }
    }
    for (const move of car.moves.slice(-2)) if (move.place !== null) touched.add(move.place);
    this.#rebuildSoon();
    this.#tell({ places: touched, readings: [] });
  }

  #rebuildSoon(): void {
    if (this.#toRebuild.size > 0) this.#rebuilding ??= this.#rebuildAll();
  }

  async #rebuildAll(): Promise<void> {
    const { logger } = this.#parts;
    while (this.#toRebuild.size > 0 && !this.#stopped) {
      // A turn of the event loop between two coats: late readings that come in a burst are taken together.
      await new Promise((resolve) => setImmediate(resolve));
      const [id] = this.#toRebuild;
      if (id === undefined) break;
      this.#toRebuild.delete(id);
      const followed = this.#coats.get(id);
      if (followed === undefined) continue;
      try {
        if (!(await this.#rebuild(followed))) this.#toRebuild.add(id);
        if (followed.place !== null) this.#tell({ places: new Set([followed.place]), readings: [] });
      } catch (error) {
        logger.error({ err: error, coat: id }, "a coat's history could not be followed anew");
        if (!(error instanceof StoreAway)) continue;
        this.#toRebuild.add(id);
        clearTimeout(this.#again);
        if (!this.#stopped) this.#again = setTimeout(() => this.#rebuildSoon(), storeAgainMs);
        break;
      }
    }
    this.#rebuilding = null;
  }

  #tell(change: Change): void {
    for (const listener of this.#listeners) listener(change);
  }
}
