/** From a message to the store: parse, resolve, check, commit in groups, and only then the receipt. */
import type { Logger } from "pino";
import { isUsable, packDigest, type Receipt } from "../../collector/readings.ts";
import { type ResolvedRecord, resolveSenml, SenmlFault, UndatedPack } from "./senml.ts";
import type { StoredReading } from "./store.ts";

export interface RefusedPack {
  at: string;
  sender: string;
  reason: string;
  /** The first 300 characters of the payload. */
  payload: string;
}

export interface IntakeState {
  packsStored: number;
  packsRefused: number;
  readingsStored: number;
  /** Readings that were in the store already. */
  readingsKnown: number;
  /** Readings that can be no measurement, and those the collector marked bad: kept, but never used. */
  readingsUnusable: number;
  /**
   * Packs whose instants cannot be believed yet: relative times while this machine's clock is not believed, and instants
   * well ahead of it while it is. Neither taken nor receipted, so that a collector keeps them until the clocks agree.
   */
  packsUndated: number;
  packsWaiting: number;
  /** Packs not taken because the queue was full; the collector sends them again. */
  packsShed: number;
  /** Set while the store refuses to commit. */
  storeFault: string | null;
  /** The newest first, at most 100. */
  refused: RefusedPack[];
}

interface WaitingPack<R> {
  sender: string;
  digest: string;
  correlation: Buffer | undefined;
  readings: R[];
}

/** `R`: a reading as the store takes it. */
export interface IntakeParts<R extends StoredReading> {
  /** See ReadingStore. */
  store: { append(readings: readonly R[]): Promise<R[]> };
  /** Who sends by a topic: a collector, or a shop. */
  senderOf: (topic: string) => string;
  /** A record of what such a one sent; throws SenmlFault for one that it may not send. */
  readingOf: (record: ResolvedRecord, sender: string) => R;
  /** Called after the commit, with the readings that are new. */
  onCommitted: (readings: R[]) => void;
  sendReceipt: (sender: string, receipt: Receipt, correlation: Buffer | undefined) => void;
  /** Told of each commit that the store took, and for how long it was at it. */
  onAppended?: (tookMs: number) => void;
  /** This machine's clock, in UTC milliseconds. */
  now: () => number;
  /** Whether that clock can be believed; relative times are resolved only while it can. */
  isClockBelieved: () => boolean;
  logger: Logger;
}

const packsACommit = 200;
const readingsACommit = 5_000;
const packsWaitingAtMost = 20_000;
const readingsWaitingAtMost = 1_000_000;
const refusedKept = 100;
/** A reason may quote what was sent, which has no end: this much of it is told and kept. */
const reasonLength = 300;
const retryAfterMs = 2_000;
/** Two clocks that are kept are seconds apart; a device that sends local time for UTC is off by half an hour at least. */
const aheadAtMostMs = 15 * 60_000;
const leftSaidEveryMs = 60_000;
/** A pack that comes alone is committed at once; under load commits are this far apart, so that each takes many (and wears the card less). */
const commitsApartMs = 5;

export class Intake<R extends StoredReading = StoredReading> {
  readonly #parts: IntakeParts<R>;
  readonly #waiting: WaitingPack<R>[] = [];
  readonly #state: IntakeState = {
    packsStored: 0,
    packsRefused: 0,
    readingsStored: 0,
    readingsKnown: 0,
    readingsUnusable: 0,
    packsUndated: 0,
    packsWaiting: 0,
    packsShed: 0,
    storeFault: null,
    refused: [],
  };
  #readingsWaiting = 0;
  #committing: Promise<void> | null = null;
  /** On the monotonic clock. */
  #committedAtMs = Number.NEGATIVE_INFINITY;
  #leftSaidAtMs = Number.NEGATIVE_INFINITY;
  #stopped = false;

  constructor(parts: IntakeParts<R>) {
    this.#parts = parts;
  }

  /** Takes one message with a pack. Never throws: what can't be used is refused with its reason. */
  accept(topic: string, payload: Buffer, correlation?: Buffer): void {
    if (this.#stopped) return;
    const sender = this.#parts.senderOf(topic);
    let readings: R[];
    try {
      const nowS = this.#parts.isClockBelieved() ? this.#parts.now() / 1000 : null;
      const resolved = resolveSenml(parseJson(payload), nowS);
      readings = resolved.map((record) => this.#parts.readingOf(record, sender));
    } catch (error) {
      if (error instanceof UndatedPack) {
        this.#leave(sender, null);
        return;
      }
      if (!(error instanceof SenmlFault)) throw error;
      this.#refuse(sender, payload, correlation, error.message.slice(0, reasonLength));
      return;
    }
    const aheadMs = Math.max(...readings.map(({ atMs }) => atMs)) - this.#parts.now();
    if (aheadMs > aheadAtMostMs && this.#parts.isClockBelieved()) {
      this.#leave(sender, aheadMs);
      return;
    }
    if (this.#waiting.length >= packsWaitingAtMost || this.#readingsWaiting >= readingsWaitingAtMost) {
      this.#state.packsShed++;
      return;
    }
    this.#readingsWaiting += readings.length;
    this.#waiting.push({ sender, digest: packDigest(payload), correlation, readings });
    this.#committing ??= this.#commitAll();
  }

  state(): IntakeState {
    return { ...this.#state, packsWaiting: this.#waiting.length, refused: [...this.#state.refused] };
  }

  /** Commits what is waiting, then takes no more. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#committing;
  }

  /** Commits group after group; while one is under way the next gathers, so load makes the groups larger. */
  async #commitAll(): Promise<void> {
    while (this.#waiting.length > 0) {
      if (this.#waiting.length < packsACommit && this.#readingsWaiting < readingsACommit) await this.#gather();
      const group = this.#nextGroup();
      const readings = group.flatMap((pack) => pack.readings);
      let fresh: R[];
      const fromMs = performance.now();
      try {
        fresh = await this.#parts.store.append(readings);
      } catch (error) {
        if (this.#state.storeFault === null)
          this.#parts.logger.error({ err: error }, "the store refuses readings; they wait");
        this.#state.storeFault = (error as Error).message;
        if (this.#stopped) break;
        await pause(retryAfterMs);
        continue;
      }
      this.#committedAtMs = performance.now();
      this.#parts.onAppended?.(this.#committedAtMs - fromMs);
      this.#state.storeFault = null;
      this.#waiting.splice(0, group.length);
      this.#readingsWaiting -= readings.length;
      this.#count(group.length, readings.length, fresh);
      for (const pack of group) {
        this.#parts.sendReceipt(pack.sender, { pack: pack.digest, status: "stored" }, pack.correlation);
      }
      if (fresh.length > 0) this.#tell(fresh);
      // Lets receipts leave and packs come in before the next commit blocks this thread again.
      await nextTurn();
    }
    this.#committing = null;
  }

  /** So many packs and readings as one commit takes: others' receipts wait for it. */
  #nextGroup(): WaitingPack<R>[] {
    let readings = 0;
    const end = this.#waiting.findIndex((pack, index) => {
      readings += pack.readings.length;
      return index === packsACommit || (index > 0 && readings > readingsACommit);
    });
    return end < 0 ? [...this.#waiting] : this.#waiting.slice(0, end);
  }

  /** What others make of the readings must not keep the next ones from the store. */
  #tell(fresh: R[]): void {
    try {
      this.#parts.onCommitted(fresh);
    } catch (error) {
      this.#parts.logger.error({ err: error }, "readings are stored, but following them failed");
    }
  }

  /** Waits until the next commit is due: a turn of the event loop at least, so that packs of one moment go together. */
  async #gather(): Promise<void> {
    const dueInMs = commitsApartMs - (performance.now() - this.#committedAtMs);
    await (dueInMs > 0 && !this.#stopped ? pause(dueInMs) : nextTurn());
  }

  #count(packs: number, readings: number, fresh: readonly R[]): void {
    this.#state.packsStored += packs;
    this.#state.readingsStored += fresh.length;
    this.#state.readingsKnown += readings - fresh.length;
    this.#state.readingsUnusable += fresh.filter((reading) => !isUsable(reading)).length;
  }

  #leave(sender: string, aheadMs: number | null): void {
    this.#state.packsUndated++;
    const nowMs = performance.now();
    if (nowMs - this.#leftSaidAtMs < leftSaidEveryMs) return;
    this.#leftSaidAtMs = nowMs;
    const minutesAhead = aheadMs === null ? null : Math.round(aheadMs / 60_000);
    const what = "a pack's instants cannot be believed: it is left until the clocks here and there agree";
    this.#parts.logger.error({ sender, minutesAhead }, what);
  }

  #refuse(sender: string, payload: Buffer, correlation: Buffer | undefined, reason: string): void {
    this.#state.packsRefused++;
    this.#state.refused.unshift({
      at: new Date(this.#parts.now()).toISOString(),
      sender,
      reason,
      payload: payload.subarray(0, 300).toString("utf8"),
    });
    this.#state.refused.length = Math.min(this.#state.refused.length, refusedKept);
    this.#parts.logger.warn({ sender, reason }, "a pack was refused");
    this.#parts.sendReceipt(sender, { pack: packDigest(payload), status: "refused", reason }, correlation);
  }
}

function parseJson(payload: Buffer): unknown {
  try {
    return JSON.parse(payload.toString("utf8"));
  } catch (error) {
    throw new SenmlFault(null, `not JSON: ${(error as Error).message}`);
  }
}

const nextTurn = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
