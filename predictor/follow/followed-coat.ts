/** One live coat: its climb through the history it had, kept up with each reading, made anew after an edit. */
import type { ClimateReading, Outcome } from "../cure/climb.ts";
import { CoatClimb } from "../cure/coat-climb.ts";
import { buildLadder } from "../cure/ladder.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Car, Coat } from "../records/records.ts";
import { gapMs } from "./merge.ts";
import { carHistory, type Places, type Stay, staysFrom } from "./place-history.ts";

export class FollowedCoat {
  readonly coat: Coat;
  readonly car: Car;
  readonly sheet: Sheet;
  readonly stays: Stay[];
  #climb: CoatClimb;
  /** The next reading is the first in the place where the car stands now. */
  #arrivalPending = false;
  /** Readings that came while the history was being fetched. */
  #waiting: ClimateReading[] | null = null;

  constructor(coat: Coat, car: Car, sheet: Sheet) {
    this.coat = coat;
    this.car = car;
    this.sheet = sheet;
    this.stays = staysFrom(car.moves, coat.finishedAtMs);
    this.#climb = this.#newClimb();
  }

  /** Where the car stands; null when it has left the shop. */
  get place(): string | null {
    return this.car.moves.at(-1)?.place ?? null;
  }

  /** Whether a reading of a place, come late, can change this coat's history: the car stood there at its instant or later. */
  isTouchedBy(place: string, atMs: number): boolean {
    return this.stays.some((stay) => stay.place === place && atMs < stay.toMs);
  }

  /** Whether a live reading of a place is the next of this coat's history. Those just before the finish lead up to it. */
  standsIn(place: string, atMs: number): boolean {
    const stay = this.stays.at(-1);
    if (stay === undefined || stay.place !== place || stay.toMs !== Number.POSITIVE_INFINITY) return false;
    return atMs >= (this.stays.length === 1 ? stay.fromMs - gapMs : stay.fromMs);
  }

  /** Takes a live reading of the place where the car stands. False when it came out of order: the climb must be made anew. */
  append(reading: ClimateReading): boolean {
    if (this.#waiting !== null) {
      this.#waiting.push(reading);
      return true;
    }
    const newestMs = this.#climb.lastReadingAtMs;
    if (newestMs !== null && reading.atMs <= newestMs) return false;
    this.#climb.append(this.#arrivalPending ? { ...reading, movedIn: true } : reading);
    this.#arrivalPending = false;
    return true;
  }

  /** Makes the climb anew from the store. Readings that come meanwhile are taken afterwards; false when one of them was late. */
  async rebuild(store: ReadingStore, places: Places): Promise<boolean> {
    this.#waiting = [];
    let arrivalPending: boolean;
    const climb = this.#newClimb();
    let waiting: ClimateReading[];
    try {
      const history = await carHistory(store, places, this.stays);
      for (const reading of history.readings) climb.append(reading);
      arrivalPending = history.arrivalPending;
    } finally {
      waiting = this.#waiting;
      this.#waiting = null;
    }
    this.#climb = climb;
    this.#arrivalPending = arrivalPending;
    return waiting.every((reading) => this.append(reading));
  }

  outcome(nowMs: number): Outcome {
    return this.#climb.outcome(nowMs);
  }

  get lastReadingAtMs(): number | null {
    return this.#climb.lastReadingAtMs;
  }

  #newClimb(): CoatClimb {
    return new CoatClimb({
      ladder: buildLadder(this.sheet),
      finishedAtMs: this.coat.finishedAtMs,
      substrate: this.coat.substrate,
      ...(this.coat.filmUm === null ? {} : { filmUm: this.coat.filmUm }),
      ...(this.coat.panelAtFinishC === null ? {} : { panelAtFinishC: this.coat.panelAtFinishC }),
    });
  }
}
