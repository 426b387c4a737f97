/**
 * A store on another machine, with a file here in front of it: what is appended is on this machine's disk at once, and goes on
 * in batches. While the other machine is away appending goes on, and reading fails with StoreAway.
 */
import { setTimeout as pause } from "node:timers/promises";
import type { Logger } from "pino";
import { oneAfterAnother } from "./in-turn.ts";
import { type ReadingStore, refuseBeyond, StoreAway, type StoredReading } from "./store.ts";
import type { WaitingFile } from "./waiting-file.ts";

/** What the store behind must offer beside. */
export interface FarStore extends ReadingStore {
  /** Those that are not stored yet, each once. */
  unknown(readings: readonly StoredReading[]): Promise<StoredReading[]>;
  /** Whether a reading is newer than all that is stored of its series: known without asking. */
  isNewest(reading: StoredReading): boolean;
}

export interface Waiting {
  /** Readings that wait to go on. */
  count: number;
  /** Since when the store is away; null while it is not. */
  awaySinceMs: number | null;
  /** What keeps them; null while nothing does. */
  fault: string | null;
}

interface Parts {
  file: WaitingFile;
  far: FarStore;
  now: () => number;
  logger: Logger;
}

const readingsABatch = 5_000;
/** Readings gather for so long, unless somebody reads. Assumed. */
const gatherMs = 500;
const longestPauseMs = 30_000;
/** A read waits so long at most for what came before it to go on. Assumed. */
const readWaitsMs = 20_000;

export class WaitingStore implements ReadingStore {
  readonly #parts: Parts;
  readonly #inTurn = oneAfterAnother();
  readonly #sending: Promise<void>;
  /** Those who wait until what came before them has gone on. */
  #readers: { upTo: number; done: (fault: Error | null) => void }[] = [];
  /** Has the sender look at once. */
  #wake = (): void => undefined;
  #awaySinceMs: number | null = null;
  #fault: string | null = null;
  #isStopped = false;

  private constructor(parts: Parts) {
    this.#parts = parts;
    this.#sending = this.#sendAll();
  }

  /** Waits until the store behind is there, and what waited from before has gone on. */
  static async open(parts: Omit<Parts, "far">, openFar: () => Promise<FarStore>): Promise<WaitingStore> {
    const { logger } = parts;
    const far = await untilThere(openFar, logger, "the store of readings is away: Coatclock starts when it is there");
    const store = new WaitingStore({ ...parts, far });
    await untilThere(() => store.#caughtUp(), logger, "readings from before this start have not gone on yet");
    return store;
  }

  state(): Waiting {
    return { count: this.#parts.file.count, awaySinceMs: this.#awaySinceMs, fault: this.#fault };
  }

  /**
   * While the store is away, a reading that is not newer than all of its series can't be told from a copy of one that is
   * there: it is given back as new, and found to be a copy when it goes on.
   */
  append(readings: readonly StoredReading[]): Promise<StoredReading[]> {
    return this.#inTurn(async () => {
      const { file } = this.#parts;
      for (const reading of readings) refuseBeyond(reading);
      // First of all: what does not wait now is in the store, or nowhere.
      const notWaiting = readings.filter((reading) => !file.has(reading));
      return file.add(await this.#notStored(notWaiting));
    });
  }

  async range(...asked: Parameters<ReadingStore["range"]>) {
    return (await this.#caughtUp()).range(...asked);
  }

  async latest(...asked: Parameters<ReadingStore["latest"]>) {
    return (await this.#caughtUp()).latest(...asked);
  }

  async earliest(...asked: Parameters<ReadingStore["earliest"]>) {
    return (await this.#caughtUp()).earliest(...asked);
  }

  async thin(...asked: Parameters<ReadingStore["thin"]>) {
    return (await this.#caughtUp()).thin(...asked);
  }

  async countBuckets(...asked: Parameters<ReadingStore["countBuckets"]>) {
    return (await this.#caughtUp()).countBuckets(...asked);
  }

  async series() {
    return (await this.#caughtUp()).series();
  }

  async rollUp(beforeMs: number): Promise<number> {
    return (await this.#caughtUp()).rollUp(beforeMs);
  }

  /** What still waits goes on after the next start. */
  async close(): Promise<void> {
    this.#isStopped = true;
    this.#wake();
    await this.#sending;
    await this.#parts.far.close();
    this.#parts.file.close();
  }

  async #notStored(readings: readonly StoredReading[]): Promise<readonly StoredReading[]> {
    const { far } = this.#parts;
    const late = new Set(readings.filter((reading) => !far.isNewest(reading)));
    if (late.size === 0 || this.#fault !== null) return readings;
    try {
      const unknown = new Set(await far.unknown([...late]));
      return readings.filter((reading) => !late.has(reading) || unknown.has(reading));
    } catch (error) {
      this.#failed(error);
      return readings;
    }
  }

  /** The store behind, once all that was appended before is in it. */
  async #caughtUp(): Promise<FarStore> {
    const { file, far } = this.#parts;
    const upTo = file.newest;
    if (upTo === 0) return far;
    await new Promise<void>((resolve, reject) => {
      const giveUp = () =>
        reject(new StoreAway(`${file.count} readings are still on their way to the store of readings`));
      const timer = setTimeout(giveUp, readWaitsMs);
      const done = (fault: Error | null) => {
        clearTimeout(timer);
        if (fault === null) resolve();
        else reject(fault);
      };
      this.#readers.push({ upTo, done });
      this.#wake();
    });
    return far;
  }

  async #sendAll(): Promise<void> {
    let pauseMs = gatherMs;
    while (!this.#isStopped) {
      // Who begins to read while others are answered is not kept waiting.
      if (this.#readers.length === 0) await this.#sleep(pauseMs);
      try {
        while (!this.#isStopped && (await this.#sendBatch())) pauseMs = gatherMs;
      } catch (error) {
        this.#failed(error);
        this.#answerReaders(Number.POSITIVE_INFINITY, error as Error);
        pauseMs = Math.min(2 * pauseMs, longestPauseMs);
      }
    }
    this.#answerReaders(Number.POSITIVE_INFINITY, new StoreAway("Coatclock stops"));
  }

  /** Readings leave the file only when they are in the store; it tells a second copy. */
  async #sendBatch(): Promise<boolean> {
    const { file, far } = this.#parts;
    const { readings, upTo } = file.oldest(readingsABatch);
    if (readings.length === 0) return false;
    await far.append(readings);
    file.drop(upTo);
    this.#answerReaders(upTo, null);
    if (this.#fault !== null) this.#parts.logger.info("the store of readings is there again");
    this.#fault = null;
    this.#awaySinceMs = null;
    return true;
  }

  #answerReaders(upTo: number, fault: Error | null): void {
    const answered = this.#readers.filter((reader) => reader.upTo <= upTo);
    this.#readers = this.#readers.filter((reader) => reader.upTo > upTo);
    for (const { done } of answered) done(fault);
  }

  #failed(error: unknown): void {
    const { now, logger } = this.#parts;
    if (this.#fault === null)
      logger.error({ err: error }, "the store of readings is away: readings wait on this machine");
    this.#fault = (error as Error).message;
    this.#awaySinceMs ??= now();
  }

  /** Until so long has passed, or somebody wakes the sender. */
  #sleep(ms: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, ms);
      this.#wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  }
}

/** Tries until something does not fail with StoreAway. */
async function untilThere<T>(attempt: () => Promise<T>, logger: Logger, what: string): Promise<T> {
  for (let pauseMs = gatherMs; ; pauseMs = Math.min(2 * pauseMs, longestPauseMs)) {
    try {
      return await attempt();
    } catch (error) {
      if (!(error instanceof StoreAway)) throw error;
      logger.error({ fault: error.message, againInMs: pauseMs }, what);
      await pause(pauseMs);
    }
  }
}
