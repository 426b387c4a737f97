/** Tells the head office what this shop holds: readings as they are stored, the log, the book of coats. Nothing it hears back changes anything here. */
import type { Logger } from "pino";
import { Connection } from "../../collector/connection.ts";
import { Dispatcher } from "../../collector/dispatch.ts";
import { jsonIn, receiptSchema } from "../../collector/readings.ts";
import type { BrokerAddress } from "../../collector/settings.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import type { OnwardQueue } from "../readings/onward-queue.ts";
import type { Records } from "../records/records.ts";
import { bookStep, recordsFault, recordsStep } from "./following.ts";
import { type Have, haveSchema, onwardTopics, type ShopDescription } from "./messages.ts";
import { QueuedPacks, readingsAPack } from "./queued-packs.ts";
import { type Step, StepByStep } from "./step-by-step.ts";

export interface OnwardParts {
  description: ShopDescription;
  broker: BrokerAddress;
  queue: OnwardQueue;
  records: Pick<Records, "head" | "hashAt" | "writtenAfter" | "onEntry">;
  book: Pick<CoatBook, "epoch" | "lastNumber" | "changedAfter" | "onPut">;
  logger: Logger;
  /** How long a pack may go without a receipt, and entries without being held, before they are sent again. */
  patienceMs?: number;
}

export interface OnwardState {
  connected: boolean;
  readingsWaiting: number;
  /** Since the start: because too many waited, and because the head office refused them for good. */
  readingsDropped: number;
  packsRefused: number;
  /** Entries of the log that the head office does not hold yet; null while it has not said what it holds. */
  entriesBehind: number | null;
  /** What keeps the log from being held there, in words; null while all is well. */
  fault: string | null;
}

/** Readings of a moment go together. */
const gatherMs = 250;
const tickMs = 1_000;
const usualPatienceMs = 10_000;
/** Without a receipt for so long though the head office can be heard. */
const lostAfterMs = 2_000;
/** Few, so that a shop with a long backlog leaves the head office to the others between its packs. */
const limits = { live: 6, backlog: 4, both: 8 };

export class Onward {
  readonly #parts: OnwardParts;
  readonly #topics: ReturnType<typeof onwardTopics>;
  readonly #packs: QueuedPacks;
  readonly #dispatcher: Dispatcher;
  readonly #connection: Connection;
  readonly #following: StepByStep[];
  readonly #stops: (() => void)[] = [];
  #gathering: NodeJS.Timeout | null = null;
  #have: Have | null = null;
  #fault: string | null = null;
  #packsRefused = 0;
  #lastPublishError = "";

  constructor(parts: OnwardParts) {
    this.#parts = parts;
    const { description, broker, queue, records, book, logger, patienceMs = usualPatienceMs } = parts;
    this.#topics = onwardTopics(description.shop);
    this.#packs = new QueuedPacks(queue);
    const nowMs = () => performance.now();
    this.#dispatcher = new Dispatcher({
      outbox: this.#packs,
      limits,
      send: ({ payload }) => this.#publish(this.#topics.readings, payload),
      receiptTimeoutMs: patienceMs,
      nowMs,
    });
    const stepByStep = (topic: string, next: () => Step | null) =>
      new StepByStep({ next, send: (message) => this.#publish(topic, JSON.stringify(message)), nowMs, patienceMs });
    this.#following = [
      stepByStep(this.#topics.records, () => this.#have && recordsStep(records, this.#have)),
      stepByStep(this.#topics.book, () => this.#have && bookStep(book, this.#have)),
    ];
    this.#connection = new Connection({
      broker,
      clientId: `coatclock-onward-${description.shop}`,
      subscriptions: [this.#topics.receipts, this.#topics.have],
      opened: () => this.#opened(),
      lost: () => this.#lost(),
      message: (topic, payload) => {
        if (topic === this.#topics.have) this.#takeHave(payload);
        else if (topic === this.#topics.receipts) this.#takeReceipt(payload);
      },
      logger,
    });
  }

  start(): void {
    const { records, book } = this.#parts;
    const ticking = setInterval(() => this.#tick(), tickMs);
    this.#stops.push(
      records.onEntry(() => this.#pump()),
      book.onPut(() => this.#pump()),
      () => clearInterval(ticking),
    );
    this.#connection.start();
  }

  /** What waits stays in the queue. */
  async stop(): Promise<void> {
    for (const stop of this.#stops) stop();
    if (this.#gathering !== null) clearTimeout(this.#gathering);
    await this.#connection.stop();
  }

  /** Readings were stored. */
  committed(): void {
    if (this.#packs.gathering >= readingsAPack) this.#gathered();
    else this.#gathering ??= setTimeout(() => this.#gathered(), gatherMs);
  }

  state(): OnwardState {
    const { queue, records } = this.#parts;
    const head = records.head()?.seq ?? 0;
    return {
      connected: this.#connection.isOpen,
      readingsWaiting: queue.count,
      readingsDropped: queue.dropped,
      packsRefused: this.#packsRefused,
      entriesBehind: this.#have && Math.max(0, head - this.#have.records.seq),
      fault: this.#fault,
    };
  }

  #gathered(): void {
    if (this.#gathering !== null) clearTimeout(this.#gathering);
    this.#gathering = null;
    this.#packs.gathered();
    this.#dispatcher.pump();
  }

  #opened(): void {
    this.#publish(this.#topics.shop, JSON.stringify(this.#parts.description), true);
    this.#dispatcher.opened();
    this.#pump();
  }

  #lost(): void {
    this.#dispatcher.lost();
    for (const each of this.#following) each.lost();
  }

  #tick(): void {
    this.#dispatcher.resendOverdue();
    this.#pump();
  }

  #pump(patienceMs?: number): void {
    if (this.#connection.isOpen) for (const each of this.#following) each.pump(patienceMs);
  }

  #takeReceipt(payload: Buffer): void {
    const receipt = receiptSchema.safeParse(jsonIn(payload));
    if (!receipt.success) {
      this.#passOver(payload);
      return;
    }
    const { pack, status, reason } = receipt.data;
    if (!this.#dispatcher.receipted(pack) || status === "stored") return;
    this.#packsRefused += 1;
    this.#parts.logger.error({ pack, reason }, "the head office refuses readings for good");
  }

  #takeHave(payload: Buffer): void {
    const have = haveSchema.safeParse(jsonIn(payload));
    if (!have.success) {
      this.#passOver(payload);
      return;
    }
    this.#have = have.data;
    const fault = recordsFault(this.#parts.records, have.data);
    if (fault !== this.#fault) {
      if (fault === null) this.#parts.logger.info("the head office takes the log again");
      else this.#parts.logger.error({ fault }, "the head office does not hold this log: see docs/head-office.md");
    }
    this.#fault = fault;
    // Heard again after an outage of the link, or a start of the head office: what was sent into the void is due now.
    this.#dispatcher.resendUnanswered(lostAfterMs);
    this.#pump(have.data.fault === null ? lostAfterMs : undefined);
  }

  #passOver(payload: Buffer): void {
    this.#parts.logger.warn({ payload: payload.toString("utf8", 0, 200) }, "passed over a message of the head office");
  }

  /** What is not taken is sent again, so the same error comes many times: it is logged when it is another than the last. */
  #publish(topic: string, payload: string, retain = false): void {
    this.#connection.publish(topic, payload, { qos: 1, retain }).catch((error: unknown) => {
      const text = String(error);
      if (text !== this.#lastPublishError) {
        this.#parts.logger.warn({ error: text }, "the broker to the head office did not take a message");
      }
      this.#lastPublishError = text;
    });
  }
}
