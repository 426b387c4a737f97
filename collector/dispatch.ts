/** Which waiting pack is sent when: bounded in flight, live first, again when no receipt comes. */
import type { Outbox, Urgency, WaitingPack } from "./outbox.ts";

/** Packs sent and not yet receipted. The backlog may fill only a part, so that a live pack always finds a place. */
const inFlightLimits: Record<Urgency, number> = { live: 64, backlog: 48 };

interface Flight {
  pack: WaitingPack;
  sends: number;
  /** On the monotonic clock. */
  againAtMs: number;
}

export interface DispatcherOptions {
  outbox: Outbox;
  send: (pack: WaitingPack) => void;
  /** A pack without a receipt is sent again after this long, then twice, then three times as long; then it stays there. */
  receiptTimeoutMs: number;
  /** Monotonic milliseconds. */
  nowMs: () => number;
}

export class Dispatcher {
  readonly #options: DispatcherOptions;
  readonly #inFlight = new Map<string, Flight>();
  #open = false;

  constructor(options: DispatcherOptions) {
    this.#options = options;
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
    this.#options.outbox.demoteLive();
  }

  /** Takes a receipted pack out of the outbox; false when it was not waiting (a second receipt, or another's). */
  receipted(digest: string): boolean {
    this.#inFlight.delete(digest);
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

  #fill(urgency: Urgency): void {
    for (const pack of this.#options.outbox.waiting(urgency)) {
      if (this.#inFlight.size >= inFlightLimits[urgency]) return;
      if (this.#inFlight.has(pack.digest)) continue;
      const flight = { pack, sends: 0, againAtMs: 0 };
      this.#inFlight.set(pack.digest, flight);
      this.#send(flight);
    }
  }

  #send(flight: Flight): void {
    flight.sends += 1;
    flight.againAtMs = this.#options.nowMs() + this.#options.receiptTimeoutMs * Math.min(flight.sends, 3);
    this.#options.send(flight.pack);
  }
}
