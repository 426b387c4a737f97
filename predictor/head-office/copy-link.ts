/** Takes the logs, books and descriptions of all shops into their copies, and tells each shop how far it is held. One of these in a group. */
import type { Logger } from "pino";
import type { z } from "zod";
import { Connection } from "../../collector/connection.ts";
import { jsonIn } from "../../collector/readings.ts";
import type { BrokerAddress } from "../../collector/settings.ts";
import {
  bookMessageSchema,
  onwardTopics,
  recordsMessageSchema,
  shopDescriptionSchema,
  shopOf,
} from "../onward/messages.ts";
import type { Copies, Copy } from "./copies.ts";

export interface CopyLinkParts {
  group: string;
  broker: BrokerAddress;
  copies: Copies;
  logger: Logger;
}

export interface CopyLinkState {
  connected: boolean;
  /** Messages of shops that the group file does not name. */
  messagesOfStrangers: number;
  /** Messages that are not of the documented form. */
  messagesPassedOver: number;
}

export class CopyLink {
  readonly #parts: CopyLinkParts;
  readonly #connection: Connection;
  #messagesOfStrangers = 0;
  #messagesPassedOver = 0;

  constructor(parts: CopyLinkParts) {
    const { group, broker, copies, logger } = parts;
    this.#parts = parts;
    const { records, book, shop } = onwardTopics("+");
    this.#connection = new Connection({
      broker,
      clientId: `coatclock-head-office-${group}`,
      subscriptions: [records, book, shop],
      opened: () => {
        for (const copy of copies.all()) this.#tell(copy);
      },
      lost: () => undefined,
      message: (topic, payload) => this.#take(topic, payload),
      logger,
    });
  }

  start(): void {
    this.#connection.start();
  }

  stop(): Promise<void> {
    return this.#connection.stop();
  }

  state(): CopyLinkState {
    return {
      connected: this.#connection.isOpen,
      messagesOfStrangers: this.#messagesOfStrangers,
      messagesPassedOver: this.#messagesPassedOver,
    };
  }

  #take(topic: string, payload: Buffer): void {
    const { copies, logger } = this.#parts;
    const copy = copies.get(shopOf(topic));
    if (copy === undefined) {
      if (this.#messagesOfStrangers === 0)
        logger.warn({ topic }, "a shop that the group file does not name tells of itself");
      this.#messagesOfStrangers += 1;
      return;
    }
    copy.heard();
    try {
      this.#takeInto(copy, topic, payload);
    } catch (error) {
      // A full disk: the shop sends it again.
      logger.error({ err: error, topic }, "what a shop sent could not be kept");
    }
  }

  #takeInto(copy: Copy, topic: string, payload: Buffer): void {
    const topics = onwardTopics(copy.id);
    if (topic === topics.shop) {
      const description = this.#read(topic, payload, shopDescriptionSchema);
      if (description?.shop === copy.id) copy.takeDescription(description);
      return;
    }
    if (topic === topics.records) {
      const message = this.#read(topic, payload, recordsMessageSchema);
      if (message === null) return;
      const before = copy.state().fault;
      copy.takeRecords(message);
      const { fault } = copy.state();
      if (fault !== null && fault !== before) {
        this.#parts.logger.error({ shop: copy.id, fault }, "a shop's log is not what it was: see docs/head-office.md");
      }
    } else {
      const message = this.#read(topic, payload, bookMessageSchema);
      if (message === null) return;
      copy.takeBook(message);
    }
    this.#tell(copy);
  }

  #read<T>(topic: string, payload: Buffer, schema: z.ZodType<T>): T | null {
    const read = schema.safeParse(jsonIn(payload));
    if (read.success) return read.data;
    this.#messagesPassedOver += 1;
    this.#parts.logger.warn({ topic, fault: read.error.issues[0] }, "a shop's message is not of the documented form");
    return null;
  }

  #tell(copy: Copy): void {
    const { logger } = this.#parts;
    this.#connection
      .publish(onwardTopics(copy.id).have, JSON.stringify(copy.have()), { qos: 1, retain: true })
      .catch((error: unknown) => logger.debug({ shop: copy.id, err: error }, "a shop could not be told what is held"));
  }
}
