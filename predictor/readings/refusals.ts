/** Counts what the broker refuses, and says so in the log without being made to flood it. */
import type { Logger } from "pino";

const quietMs = 60_000;

export class Refusals {
  readonly #logger: Logger;
  readonly #nowMs: () => number;
  readonly #counts = new Map<string, { total: number; logged: number; loggedAtMs: number }>();

  /** `nowMs` is a monotonic clock. */
  constructor(logger: Logger, nowMs: () => number = () => performance.now()) {
    this.#logger = logger;
    this.#nowMs = nowMs;
  }

  /** Counts one; each kind is logged at most once a minute, with how many there were since. */
  count(kind: string, detail: object): void {
    const entry = this.#counts.get(kind) ?? { total: 0, logged: 0, loggedAtMs: Number.NEGATIVE_INFINITY };
    this.#counts.set(kind, entry);
    entry.total += 1;
    const nowMs = this.#nowMs();
    if (nowMs - entry.loggedAtMs < quietMs) return;
    this.#logger.warn({ ...detail, times: entry.total - entry.logged }, `broker: ${kind}`);
    entry.logged = entry.total;
    entry.loggedAtMs = nowMs;
  }

  /** How many of each kind since the start. */
  totals(): Record<string, number> {
    return Object.fromEntries([...this.#counts].map(([kind, { total }]) => [kind, total]));
  }
}
