/** Keeps readings for the shop's term: older ones that no coat in the shop rests on are rolled up, a little at a time. */
import { setTimeout as pause } from "node:timers/promises";
import type { Logger } from "pino";
import type { ReadingStore } from "../readings/store.ts";
import type { Records } from "../records/records.ts";
import type { CoatState } from "./coat-state.ts";
import type { Follow } from "./follow.ts";
import { gapMs } from "./merge.ts";

export interface KeepingParts {
  store: Pick<ReadingStore, "rollUp">;
  records: Pick<Records, "carsHere" | "coatsOf">;
  follow: Pick<Follow, "coatsOf">;
  keepRawDays: number;
  now: () => number;
  /** Nothing is taken away by a clock that may be years ahead. */
  isClockBelieved: () => boolean;
  logger: Logger;
}

const dayMs = 24 * 60 * 60_000;
const everyMs = 60 * 60_000;
/** So many times as long as a piece took, others have their turn. Assumed. */
const restFactor = 9;

export class Keeping {
  readonly #parts: KeepingParts;
  readonly #stopping = new AbortController();
  #timer: NodeJS.Timeout | undefined;
  #working: Promise<void> | null = null;

  constructor(parts: KeepingParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#work();
    this.#timer = setInterval(() => this.#work(), everyMs);
  }

  async stop(): Promise<void> {
    clearInterval(this.#timer);
    this.#stopping.abort();
    await this.#working;
  }

  /** Settles when the work that is under way is done. */
  async done(): Promise<void> {
    await this.#working;
  }

  #work(): void {
    this.#working ??= this.#rollUpAll().finally(() => {
      this.#working = null;
    });
  }

  async #rollUpAll(): Promise<void> {
    const { store, logger } = this.#parts;
    const { signal } = this.#stopping;
    let total = 0;
    try {
      while (!signal.aborted && this.#parts.isClockBelieved()) {
        const startedMs = performance.now();
        const taken = await store.rollUp(this.#keptFromMs());
        if (taken === 0) break;
        total += taken;
        await pause(restFactor * (performance.now() - startedMs), undefined, { signal });
      }
    } catch (error) {
      if (!signal.aborted)
        logger.error({ err: error }, "readings could not be rolled up; it is tried again in an hour");
    }
    if (total > 0) logger.info({ readings: total }, "readings beyond their term were rolled up");
  }

  /** The term, or further back where a car has a coat that is not fully cured: all its coats, since the lower ones show through it. */
  #keptFromMs(): number {
    const { records, follow, keepRawDays, now } = this.#parts;
    const nowMs = now();
    const finishesMs = records
      .carsHere()
      .filter((car) => !follow.coatsOf(car.id).every((state) => isCured(state, nowMs)))
      .flatMap((car) => records.coatsOf(car.id))
      .map((coat) => coat.finishedAtMs - gapMs);
    return Math.min(nowMs - keepRawDays * dayMs, ...finishesMs);
  }
}

function isCured({ isPending, outcome }: CoatState, nowMs: number): boolean {
  const safeAtMs = isPending ? null : (outcome.stages.at(-1)?.safeAtMs ?? null);
  return safeAtMs !== null && safeAtMs <= nowMs;
}
