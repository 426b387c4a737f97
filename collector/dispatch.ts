/** Which waiting pack is sent when: bounded in flight, live first, again when no receipt comes. */
import type { Outbox, Urgency, WaitingPack } from "./outbox/outbox.ts";

/** How many packs may be sent and not yet receipted: of each kind, and of both. */
export type InFlightLimits = Record<Urgency | "both", number>;

/** Neither kind may fill it alone: the backlog always finds 8 places, live packs always find 16. */
const usualLimits: InFlightLimits = { live: 56, backlog: 48, both: 64 };

interface Flight {
  pack: WaitingPack;
  urgency: Urgency;
  sends: number;
  /** On the monotonic clock, as the next. */
  sentAtMs: number;
  againAtMs: number;
}

export interface DispatcherOptions {
  outbox: Pick<Outbox, "waiting" | "remove" | "demoteLive">;
  limits?: InFlightLimits;
  send: (pack: WaitingPack) => void;
  /** A pack without a receipt is sent again after this long, then twice, then three times as long; then it stays there. */
  receiptTimeoutMs: number;
  /** Monotonic milliseconds. */
  nowMs: () => number;
}

export class Dispatcher {
  readonly #options: DispatcherOptions;
  readonly #inFlight = new Map<string, Flight>();
  readonly #counts: Record<Urgency, number> = { live: 0, backlog: 0 };
  readonly #limits: InFlightLimits;
  #open = false;

  constructor(options: DispatcherOptions) {
    this.#options = options;
    this.#limits = options.limits ?? usualLimits;
  }

  /** A connection is there: what waits may be sent. */
  opened(): void {
    this.#open = true;
    this.pump();
  }

  /** The connection is gone, and with it what was on its way: all that waits is due again over the next one. */
  lost(): void {
    this.#open = false;
    this.#inFlight.clear();
    this.#counts.live = 0;
    this.#counts.backlog = 0;
    this.#options.outbox.demoteLive();
  }

  /** Takes a receipted pack out of the outbox; false when it was not waiting (a second receipt, or another's). */
  receipted(digest: string): boolean {
    const flight = this.#inFlight.get(digest);
    if (flight !== undefined) {
      this.#inFlight.delete(digest);
      this.#counts[flight.urgency] -= 1;
    }
    const wasWaiting = this.#options.outbox.remove(digest);
    this.pump();
    return wasWaiting;
  }

  /** Sends what may be sent now. */
  pump(): void {
    if (!this.#open) return;
    this.#fill("live");
    this.#fill("backlog");
  }

  /** Sends again what has waited too long for its receipt, and says how many packs. To be called about once a second. */
  resendOverdue(): number {
    const nowMs = this.#options.nowMs();
    const overdue = [...this.#inFlight.values()].filter((flight) => flight.againAtMs <= nowMs);
    for (const flight of overdue) this.#send(flight);
    return overdue.length;
  }

  /** The far end was heard: what had no receipt for so long was lost on the way to it, and is sent again. */
  resendUnanswered(afterMs: number): void {
    const sentBeforeMs = this.#options.nowMs() - afterMs;
    for (const flight of this.#inFlight.values()) if (flight.sentAtMs < sentBeforeMs) this.#send(flight);
  }

  #fill(urgency: Urgency): void {
    if (!this.#hasPlace(urgency)) return;
    for (const pack of this.#options.outbox.waiting(urgency)) {
      if (this.#inFlight.has(pack.digest)) continue;
      const flight = { pack, urgency, sends: 0, sentAtMs: 0, againAtMs: 0 };
      this.#inFlight.set(pack.digest, flight);
      this.#counts[urgency] += 1;
      this.#send(flight);
      if (!this.#hasPlace(urgency)) return;
    }
  }

  #hasPlace(urgency: Urgency): boolean {
    return this.#inFlight.size < this.#limits.both && this.#counts[urgency] < this.#limits[urgency];
  }

  #send(flight: Flight): void {
    flight.sends += 1;
    flight.sentAtMs = this.#options.nowMs();
    flight.againAtMs = flight.sentAtMs + this.#options.receiptTimeoutMs * Math.min(flight.sends, 3);
    this.#options.send(flight.pack);
  }
}
