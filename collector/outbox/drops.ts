/** What an outbox drops without a receipt: said at the start and at the end of each time it happens. */
import type { Logger } from "pino";

/** An episode is over when nothing was dropped for so long. */
const quietMs = 15 * 60_000;
const markEveryMs = 10 * 60_000;

const words = {
  full: "the outbox is full: the oldest readings are being lost",
  "too old": "readings have waited too long for their receipt: the oldest are being lost",
};

export class DropEpisodes {
  readonly #nowMs: () => number;
  readonly #logger: Logger;
  #packs = 0;
  #episode: { packsBefore: number; lastMs: number } | undefined;

  /** `nowMs` gives monotonic milliseconds. */
  constructor(nowMs: () => number, logger: Logger) {
    this.#nowMs = nowMs;
    this.#logger = logger;
  }

  /** Dropped since the start. */
  get packs(): number {
    return this.#packs;
  }

  add(packs: number, why: keyof typeof words): void {
    if (packs === 0) return;
    if (this.#episode === undefined) this.#logger.error({ packs }, words[why]);
    this.#episode = { packsBefore: this.#episode?.packsBefore ?? this.#packs, lastMs: this.#nowMs() };
    this.#packs += packs;
  }

  /** Ends an episode that is over. */
  look(): void {
    if (this.#episode !== undefined && this.#nowMs() - this.#episode.lastMs >= quietMs) this.end();
  }

  end(): void {
    if (this.#episode === undefined) return;
    const lostPacks = this.#packs - this.#episode.packsBefore;
    this.#logger.error({ lostPacks }, "packs were lost; no more are being lost now");
    this.#episode = undefined;
  }
}

/** How far an outbox had come at a moment: its newest pack in memory, and its newest row on the card. */
export interface AgeMark {
  order: number;
  cardId: number;
}

/** Tells which packs are too old by marks set every ten minutes, so that no pack needs an age of its own. */
export class AgeMarks {
  readonly #nowMs: () => number;
  readonly #maxAgeMs: number;
  #marks: (AgeMark & { atMs: number })[] = [];

  /** `nowMs` gives monotonic milliseconds. */
  constructor(nowMs: () => number, maxAgeMs: number) {
    this.#nowMs = nowMs;
    this.#maxAgeMs = maxAgeMs;
  }

  /** Takes note of where the outbox is now; gives the newest mark that is too old, once. */
  look(now: AgeMark): AgeMark | undefined {
    const nowMs = this.#nowMs();
    const tooOld = this.#marks.findLast(({ atMs }) => nowMs - atMs >= this.#maxAgeMs);
    if (tooOld !== undefined) this.#marks = this.#marks.filter(({ atMs }) => atMs > tooOld.atMs);
    const newest = this.#marks.at(-1);
    if (newest === undefined || nowMs - newest.atMs >= markEveryMs) this.#marks.push({ ...now, atMs: nowMs });
    return tooOld;
  }
}
