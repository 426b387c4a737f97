import type { Logger } from "pino";

/** Faults of one kind that are logged one by one; further ones are only counted. */
const loggedPerKind = 3;

/** Counts what a source meets, by kind, and logs the first few. */
export class Tally {
  readonly #logger: Logger;
  readonly #counts = new Map<string, number>();

  constructor(logger: Logger) {
    this.#logger = logger;
  }

  count(kind: string, by = 1): void {
    this.#counts.set(kind, this.of(kind) + by);
  }

  /** Counts a fault and, while it is new, logs it with what helps to find it. */
  fault(kind: string, detail: Record<string, unknown>): void {
    this.count(kind);
    if (this.of(kind) > loggedPerKind) return;
    const last = this.of(kind) === loggedPerKind ? " (more of this kind are only counted)" : "";
    this.#logger.warn(detail, `skipped: ${kind}${last}`);
  }

  of(kind: string): number {
    return this.#counts.get(kind) ?? 0;
  }

  counters(): Record<string, number> {
    return Object.fromEntries(this.#counts);
  }
}
