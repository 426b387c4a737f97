/** Looks through the log while the program runs, a little at a time, at the start and once a day. */
import { setImmediate } from "node:timers/promises";
import Database from "better-sqlite3";
import { chainRows, checkChain } from "./chain.ts";

export interface ChainWatchParts {
  file: string;
  /** Told when what was found changes: a sentence that names the entry, or null. */
  onChange: (fault: string | null) => void;
}

const everyMs = 24 * 60 * 60_000;
/** Entries looked at before others have their turn. */
const atATime = 50;

export class ChainWatch {
  readonly #parts: ChainWatchParts;
  #fault: string | null = null;
  #timer: NodeJS.Timeout | undefined;
  #looking: Promise<void> | null = null;
  #stopped = false;

  constructor(parts: ChainWatchParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#look();
    this.#timer = setInterval(() => this.#look(), everyMs);
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    clearInterval(this.#timer);
    await this.#looking;
  }

  /** What the last look found first; null when all was well, or nothing was looked at yet. */
  fault(): string | null {
    return this.#fault;
  }

  /** Settles when the look that is under way has ended. */
  async looked(): Promise<void> {
    await this.#looking;
  }

  #look(): void {
    this.#looking ??= this.#find().then((fault) => {
      this.#looking = null;
      if (this.#stopped || fault === this.#fault) return;
      this.#fault = fault;
      this.#parts.onChange(fault);
    });
  }

  async #find(): Promise<string | null> {
    try {
      const db = new Database(this.#parts.file, { readonly: true });
      try {
        let looked = 0;
        for (const { faults } of checkChain(chainRows(db))) {
          if (faults[0] !== undefined) return faults[0];
          looked += 1;
          if (looked % atATime === 0) await setImmediate();
          if (this.#stopped) return null;
        }
        return null;
      } finally {
        db.close();
      }
    } catch (error) {
      return `the log can't be read: ${(error as Error).message}`;
    }
  }
}
