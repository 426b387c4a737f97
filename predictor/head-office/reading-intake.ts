/** Takes the readings of all shops of a group; several may share them out among themselves by the broker's shared subscription. */
import type { Logger } from "pino";
import { Connection } from "../../collector/connection.ts";
import type { BrokerAddress } from "../../collector/settings.ts";
import { onwardTopics, shopOf } from "../onward/messages.ts";
import type { ShopReading } from "../readings/influx.ts";
import { Intake, type IntakeState } from "../readings/intake.ts";
import { readingOf } from "../readings/reading-of.ts";
import type { ShopStores } from "./stores.ts";

export interface ReadingIntakeParts {
  broker: BrokerAddress;
  /** Another one for each intake of a group. */
  clientId: string;
  shops: readonly string[];
  stores: Pick<ShopStores, "append">;
  /** A pack came from a shop. */
  onHeard: (shop: string) => void;
  now: () => number;
  logger: Logger;
}

export interface ReadingIntakeState extends IntakeState {
  connected: boolean;
  /** Packs of shops that the group file does not name: neither taken nor answered, so that the shop keeps them. */
  packsOfStrangers: number;
}

export interface ReadingIntake {
  state(): ReadingIntakeState;
  stop(): Promise<void>;
}

export function startReadingIntake(parts: ReadingIntakeParts): ReadingIntake {
  const { broker, clientId, stores, onHeard, now, logger } = parts;
  const shops = new Set(parts.shops);
  let packsOfStrangers = 0;
  const intake = new Intake<ShopReading>({
    store: stores,
    senderOf: shopOf,
    readingOf: (record, shop) => ({ ...readingOf(record), shop }),
    now,
    // The shop has judged its instants by its own clock; this one's is not asked.
    isClockBelieved: () => false,
    onCommitted: () => undefined,
    sendReceipt: (shop, receipt) => {
      connection.publish(onwardTopics(shop).receipts, JSON.stringify(receipt), { qos: 1 }).catch((error: unknown) => {
        // The shop sends the pack again.
        logger.debug({ shop, err: error }, "a receipt could not be published");
      });
    },
    logger,
  });
  const connection = new Connection({
    broker,
    clientId,
    subscriptions: [`$share/intake/${onwardTopics("+").readings}`],
    opened: () => undefined,
    lost: () => undefined,
    message: (topic, payload) => {
      const shop = shopOf(topic);
      if (shops.has(shop)) {
        onHeard(shop);
        intake.accept(topic, payload);
        return;
      }
      if (packsOfStrangers === 0) logger.warn({ shop }, "readings come from a shop that the group file does not name");
      packsOfStrangers += 1;
    },
    logger,
  });
  connection.start();
  return {
    state: () => ({ ...intake.state(), connected: connection.isOpen, packsOfStrangers }),
    async stop() {
      // Receipts of what is still committed leave before the connection ends.
      await intake.stop();
      await connection.stop();
    },
  };
}
