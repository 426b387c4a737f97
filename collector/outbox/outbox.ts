/** Packs that wait for their receipt: what the agent and the dispatcher need of an outbox. See disk-outbox.ts. */
import type { SenmlRecord } from "../readings.ts";

/** `live`: just measured, goes first. `backlog`: kept from an outage, or an invented or recorded past. */
export type Urgency = "live" | "backlog";

export interface WaitingPack {
  /** See packDigest: what the receipt will name. */
  readonly digest: string;
  /** The SenML pack as JSON text. */
  readonly payload: string;
}

/** Bounded by size and age: the oldest backlog is dropped first, then the oldest live packs. */
export interface Outbox {
  /** Packs waiting now, undated ones included. */
  readonly packs: number;
  /** Packs that wait until their instants are known. */
  readonly undatedPacks: number;
  /** Packs dropped without a receipt since the start, because there was no room or they were too old. */
  readonly droppedPacks: number;
  /** Packs lost since the start because they were held under another boot of the machine: their instants cannot be known. */
  readonly undatablePacks: number;
  /** What keeps packs from being kept as they should, with the file and a remedy, in words; null while all is well. */
  readonly fault: string | null;
  /** What was found damaged and set aside since the start, in words; null when nothing was. */
  readonly damage: string | null;
  /** Adds a pack; one with the same bytes that came within the last seconds, or is about to be sent, is not added again. */
  add(payload: string, urgency: Urgency): void;
  /** Forgets a pack; false when it was not waiting, or has not been handed out by `waiting`. */
  remove(digest: string): boolean;
  /** Waiting packs, oldest first. What is live becomes backlog after some seconds without a receipt. */
  waiting(urgency: Urgency): Iterable<WaitingPack>;
  /** The connection is lost: what was live is backlog from now on, so that later readings overtake it. */
  demoteLive(): void;
  /** Keeps a pack whose base time `bt` is on the machine's monotonic clock, in seconds, until its instant is known. */
  hold(pack: readonly SenmlRecord[]): void;
  /**
   * Gives the oldest held packs their instants (base time := dated(bt), in seconds) and lets them go as backlog: some
   * thousands a call, so that the readings of this moment are not kept waiting. To be called again while undatedPacks is
   * not zero. Where `dated` gives no finite number, packs stay held.
   */
  date(dated: (monotonicS: number) => number): void;
  /** Writes what waits to the card and closes. */
  close(): void;
}

/** Several faults as one; null when there are none. */
export function inWords(...faults: (string | null)[]): string | null {
  return faults.filter((fault) => fault !== null).join("; ") || null;
}
