/** One live coat: its climb through the history it had, kept up with each reading, made anew after an edit. */
import type { Ahead, ClimateReading, CoatSetup, Outcome } from "../cure/climb.ts";
import { CoatClimb } from "../cure/coat-climb.ts";
import { meansNote } from "../cure/notes.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Car, Coat } from "../records/records.ts";
import { coatSetup } from "./coat-setup.ts";
import { gapMs } from "./merge.ts";
import { carHistory, type Places, type Stay, staysFrom } from "./place-history.ts";

/** An outcome is given again for so long. */
const recentMs = 5_000;

export class FollowedCoat {
  readonly coat: Coat;
  readonly car: Car;
  readonly sheet: Sheet;
  readonly stays: Stay[];
  #climb: CoatClimb;
  /** The next reading is the first in the place where the car stands now. */
  #arrivalPending = false;
  /** Some of its history is known by means only. */
  #hasMeans = false;
  /** Readings that came while the history was being fetched. */
  #waiting: ClimateReading[] | null = null;
  #isPending = true;
  #known: Outcome | null = null;

  constructor(coat: Coat, car: Car, sheet: Sheet) {
    this.coat = coat;
    this.car = car;
    this.sheet = sheet;
    this.stays = staysFrom(car.moves, coat.finishedAtMs);
    this.#climb = new CoatClimb(coatSetup(coat, sheet));
  }

  /** Where the car stands; null when it has left the shop. */
  get place(): string | null {
    return this.car.moves.at(-1)?.place ?? null;
  }

  /** Whether a reading of a place, come late, can change this coat's history: the car stood there at its instant or later. */
  isTouchedBy(place: string, atMs: number): boolean {
    return this.stays.some((stay) => stay.place === place && atMs < stay.toMs);
  }

  /**
   * How a reading of a place that came in order concerns this coat: `next` in its history, `past` when the car has left that
   * place since, not at all (null) when it did not stand there. Readings just before a stay lead up to it.
   */
  concernOf(place: string, atMs: number): "next" | "past" | null {
    const index = this.stays.findIndex(
      (stay) => stay.place === place && atMs >= stay.fromMs - gapMs && atMs < stay.toMs,
    );
    const stay = this.stays[index];
    if (stay === undefined) return null;
    const isNext = index === this.stays.length - 1 && stay.toMs === Number.POSITIVE_INFINITY;
    return isNext && (index === 0 || atMs >= stay.fromMs) ? "next" : "past";
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

  /** Makes the climb anew from the store, by what was learned of its sheet. Readings that come meanwhile are taken afterwards; false when one of them was late. */
  async rebuild(store: ReadingStore, places: Places, learned: Partial<CoatSetup>): Promise<boolean> {
    this.#waiting = [];
    let history: Awaited<ReturnType<typeof carHistory>>;
    const climb = new CoatClimb({ ...coatSetup(this.coat, this.sheet), ...learned });
    let waiting: ClimateReading[];
    try {
      history = await carHistory(store, places, this.stays);
      for (const reading of history.readings) climb.append(reading);
    } finally {
      waiting = this.#waiting;
      this.#waiting = null;
    }
    this.#climb = climb;
    this.#known = null;
    this.#arrivalPending = history.arrivalPending;
    this.#hasMeans = history.hasMeans;
    this.#isPending = false;
    return waiting.every((reading) => this.append(reading));
  }

  /** Its history has not been read yet: nothing can be said of it. */
  get isPending(): boolean {
    return this.#isPending;
  }

  /** As of an instant, along conditions to come. */
  outcome(asOfMs: number, ahead?: Ahead): Outcome {
    const outcome = this.#climb.outcome(asOfMs, ahead);
    return this.#hasMeans ? { ...outcome, notes: [...outcome.notes, meansNote()] } : outcome;
  }

  course(instantsMs: readonly number[]): ReturnType<CoatClimb["course"]> {
    return this.#climb.course(instantsMs);
  }

  /** The outcome as of now or a few seconds ago: reckoning it costs more than following a reading does. */
  recentOutcome(nowMs: number, ahead: () => Ahead | undefined): Outcome {
    const known = this.#known;
    const isRecent = known !== null && nowMs >= known.asOfMs && nowMs - known.asOfMs < recentMs;
    if (isRecent && known.curePercent !== null) return known;
    this.#known = this.outcome(nowMs, ahead());
    return this.#known;
  }

  get lastReadingAtMs(): number | null {
    return this.#climb.lastReadingAtMs;
  }
}
