/** Keeps the book of coats up with the log, with the time that passes, and with readings that came late. */
import type { Logger } from "pino";
import type { CoatState } from "../follow/coat-state.ts";
import type { Follow } from "../follow/follow.ts";
import { carHistory, type Places } from "../follow/place-history.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Car, Coat, Records } from "../records/records.ts";
import type { BookRow } from "./book-row.ts";
import type { CoatBook } from "./coat-book.ts";
import { type CoatFigures, coatFigures } from "./coat-figures.ts";
import type { FiguredCoat } from "./span-figures.ts";

export interface BookKeeperParts {
  shop: string;
  book: CoatBook;
  records: Records;
  follow: Follow;
  store: ReadingStore;
  places: Places;
  now: () => number;
  logger: Logger;
}

/** Several entries of one job are taken together. */
const soonMs = 500;
/** Coats that are not over are looked at again so often. */
const againMs = 5 * 60_000;
/** A reading older than this, when it comes, may tell of a coat whose figures were thought done. */
const lateMs = 2 * 60_000;

export class BookKeeper {
  readonly #parts: BookKeeperParts;
  readonly #changed = new Set<string>();
  /** Up to which entry the changed cars are known. */
  #seenSeq: number;
  #soon: NodeJS.Timeout | null = null;
  #working: Promise<void> | null = null;
  #isStuck = false;
  #stopped = false;
  readonly #stops: (() => void)[] = [];

  constructor(parts: BookKeeperParts) {
    this.#parts = parts;
    this.#seenSeq = parts.book.seenSeq;
  }

  /** Takes up what was entered while nobody kept the book; it goes on after this returns. */
  start(): void {
    const { records, follow, book, now } = this.#parts;
    this.#again();
    this.#stops.push(
      records.onChange(() => this.#workSoon()),
      follow.onChange(({ readings }) => {
        const late = readings.filter(({ atMs }) => atMs < now() - lateMs).map(({ atMs }) => atMs);
        if (late.length === 0) return;
        this.#changedLate(book.carsBetween(Math.min(...late), Math.max(...late)));
      }),
    );
    const again = setInterval(() => {
      this.#again();
      this.#workSoon();
    }, againMs);
    this.#stops.push(() => clearInterval(again));
    this.#workSoon();
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    for (const stop of this.#stops) stop();
    if (this.#soon !== null) clearTimeout(this.#soon);
    await this.#working;
  }

  /** Cars whose coats are not in the book as they are now. */
  get pending(): number {
    const { carIds } = this.#parts.records.carsSince(this.#seenSeq);
    return new Set([...this.#changed, ...carIds]).size;
  }

  /** A coat's figures as of now, in the book or not. */
  async figuresOf(state: CoatState): Promise<CoatFigures> {
    const { records, store, places, now } = this.#parts;
    const { readings } = await carHistory(store, places, state.stays);
    const checks = records.checksOf(state.coat.id).filter(({ withdrawn }) => withdrawn === null);
    return coatFigures({ state, readings, checks, coatsOfCar: records.coatsOf(state.car.id), nowMs: now() });
  }

  /** Coats with their figures: from the book, or as of now where they are not in it yet. */
  async figured(coats: readonly Coat[]): Promise<FiguredCoat[]> {
    const { shop, book, records } = this.#parts;
    const figured: FiguredCoat[] = [];
    for (const { id: coatId, carId, sheetId, sheetRevision, finishedAtMs } of coats) {
      const row = book.row(shop, coatId);
      const place = row?.place ?? finishedIn(records.car(carId), finishedAtMs);
      const figures = row?.figures ?? (await this.figuresOf(await this.#parts.follow.coat(coatId)));
      figured.push({ coatId, sheetId, sheetRevision, place, finishedAtMs, figures });
    }
    return figured;
  }

  /** The log does not tell of readings: what is left of them at a kill is found in the book itself. */
  #changedLate(carIds: readonly string[]): void {
    for (const carId of carIds) this.#changed.add(carId);
    try {
      this.#parts.book.reopen(carIds);
    } catch (error) {
      this.#tellStuck(error);
    }
    this.#workSoon();
  }

  #tellStuck(error: unknown): void {
    if (!this.#isStuck) this.#parts.logger.error({ err: error }, "the book of coats can't be kept now");
    this.#isStuck = true;
  }

  #again(): void {
    for (const carId of this.#parts.book.carsNotOver()) this.#changed.add(carId);
  }

  #workSoon(): void {
    if (this.#stopped || this.#soon !== null) return;
    this.#soon = setTimeout(() => {
      this.#soon = null;
      this.#working = (this.#working ?? Promise.resolve()).then(() => this.#tryToWork());
    }, soonMs);
    this.#soon.unref();
  }

  /** A full disk or a record that can't be read must not end the program: what is left is tried with the next entry, or the next round. */
  async #tryToWork(): Promise<void> {
    try {
      await this.#work();
      this.#isStuck = false;
    } catch (error) {
      this.#tellStuck(error);
    }
  }

  async #work(): Promise<void> {
    const { book, records } = this.#parts;
    const { lastSeq, carIds } = records.carsSince(this.#seenSeq);
    for (const carId of carIds) this.#changed.add(carId);
    this.#seenSeq = lastSeq;
    while (this.#changed.size > 0 && !this.#stopped) {
      const [carId] = this.#changed;
      if (carId === undefined) break;
      // A change that comes while it is worked on puts it back.
      this.#changed.delete(carId);
      try {
        const rows: BookRow[] = [];
        for (const coat of records.allCoatsOf(carId)) rows.push(await this.#row(coat));
        book.put(rows);
      } catch (error) {
        this.#changed.add(carId);
        throw error;
      }
      // A shop's years are worked off beside its day.
      await new Promise((resolve) => setImmediate(resolve));
    }
    // A program that is ended before this begins again with the cars it had not come to.
    if (this.#changed.size === 0) book.saw(this.#seenSeq);
  }

  async #row(coat: Coat): Promise<BookRow> {
    const { shop, records, follow } = this.#parts;
    const car = records.car(coat.carId);
    const sheet = records.sheet(coat.sheetId, coat.sheetRevision);
    const figures = await this.figuresOf(await follow.coat(coat.id));
    const answered = new Set(records.deviationAnswers(coat.id).map(({ deviation }) => deviation));
    return {
      shop,
      coat: coat.id,
      carId: car.id,
      job: car.job,
      car: car.name,
      panels: coat.panels,
      sheetId: sheet.id,
      sheetRevision: sheet.revision,
      sheetName: sheet.name,
      kind: sheet.kind,
      invented: sheet.invented,
      place: finishedIn(car, coat.finishedAtMs),
      who: coat.who,
      finishedAtMs: coat.finishedAtMs,
      safeAtMs: figures.stages.find(({ stage }) => stage === figures.releaseStage)?.safeAtMs ?? null,
      verdict: coat.verdict?.state ?? null,
      isWithdrawn: coat.withdrawn !== null,
      deviations: figures.deviations.map((code) => ({ code, isAnswered: answered.has(code) })),
      figures,
    };
  }
}

/** Where a car stood at a coat's finish. */
function finishedIn({ moves }: Car, finishedAtMs: number): string {
  return (moves.findLast(({ atMs }) => atMs <= finishedAtMs) ?? moves[0])?.place ?? "";
}
