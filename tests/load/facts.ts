/**
 * What happened and mattered, as the simulation made it happen, and whether someone was told of it in time. A warning that was
 * raised is not told yet: it is once a message of it, alone or gathered, has reached a person.
 */
import type { NoticeData } from "../../predictor/warnings/notices.ts";
import type { Warning } from "../../predictor/warnings/warnings.ts";
import { minuteMs } from "./invented-shop.ts";

/** All that is judged; `dew-point-ahead`, `slipped`, `sensors-disagree` and `calibration-due` are not. */
export const judged = [
  "cold",
  "heat",
  "humidity",
  "dew-point-margin",
  "window-closing",
  "window-missed",
  "pot-life",
  "not-today",
  "promise",
  "moved-wet",
  "silent-sensor",
  "bad-sensor",
  "clock",
  "outbox",
  "store",
  "records",
] as const;

export interface Fact {
  rule: (typeof judged)[number];
  what: string;
  /** From when it is so. */
  fromMs: number;
  /** Told after this, it is of no use any more. */
  byMs: number;
  /** Says of a warning that it is about this. */
  is: (warning: Warning) => boolean;
}

export interface Said {
  warning: Warning;
  toldAtMs: number;
  endedAtMs: number;
}

/** What was said of what, and when a person heard of it. */
export class Ears {
  readonly #said = new Map<string, Said>();
  readonly raised: Record<string, number> = {};

  /** Takes what stands now, and the messages that have come since the last look. */
  hear(standing: readonly Warning[], notices: readonly NoticeData[], nowMs: number): void {
    const ids = new Set(standing.map(({ id }) => id));
    for (const [id, said] of this.#said) if (!ids.has(id)) said.endedAtMs = Math.min(said.endedAtMs, nowMs);
    for (const warning of standing) {
      if (this.#said.has(warning.id)) continue;
      this.#said.set(warning.id, { warning, toldAtMs: Number.POSITIVE_INFINITY, endedAtMs: Number.POSITIVE_INFINITY });
      this.raised[warning.rule] = (this.raised[warning.rule] ?? 0) + 1;
    }
    for (const { kind, warningId, atMs } of notices) {
      // A gathered one stands for all that still waits.
      const heard =
        kind === "gathered" ? standing.filter(({ state }) => state === "open").map(({ id }) => id) : [warningId];
      for (const id of heard) {
        const said = this.#said.get(id ?? "");
        if (said !== undefined) said.toldAtMs = Math.min(said.toldAtMs, atMs);
      }
    }
  }

  /** Told while there was time, and not taken back before it was so. */
  wasTold(fact: Fact): boolean {
    return [...this.#said.values()].some(
      ({ warning, toldAtMs, endedAtMs }) => toldAtMs <= fact.byMs && endedAtMs >= fact.fromMs && fact.is(warning),
    );
  }
}

/** A quantity matters once it has been well beyond its limit for five minutes without a break. */
const mattersAfterMs = 5 * minuteMs;

/** Watches one quantity of one place. */
export class Beyond {
  #sinceMs: number | null = null;
  #isNoted = false;

  /** `by` is how far it is beyond its limit; null while no sensor tells of it. Gives since when it is, once it matters. */
  look(by: number | null, { enter, leave }: { enter: number; leave: number }, nowMs: number): number | null {
    if (by === null || by < leave) {
      this.#sinceMs = null;
      this.#isNoted = false;
    } else if (by > enter) this.#sinceMs ??= nowMs;
    if (this.#sinceMs === null || this.#isNoted || nowMs - this.#sinceMs < mattersAfterMs) return null;
    this.#isNoted = true;
    return this.#sinceMs;
  }
}
