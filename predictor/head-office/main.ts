/** Wires a head office's parts together; nothing else. */

import { mkdirSync } from "node:fs";
import { hostname } from "node:os";
import { join } from "node:path";
import type { Logger } from "pino";
import { CoatBook } from "../proof/coat-book.ts";
import { brokerAddress } from "../shop-file.ts";
import { Copies } from "./copies.ts";
import { CopyLink } from "./copy-link.ts";
import type { GroupFile } from "./group-file.ts";
import { type ReadingIntakeState, startReadingIntake } from "./reading-intake.ts";
import type { HeldShops } from "./shops.ts";
import { openShopStores } from "./stores.ts";

export interface HeadOfficeOptions {
  groupFile: GroupFile;
  dataFolder: string;
  logger: Logger;
  /** An intake beside the head office of the group, which runs elsewhere: it takes readings, and nothing else. */
  isIntakeOnly: boolean;
}

export interface HeadOffice {
  broker: string;
  /** Null where only an intake runs here. */
  held: HeldShops | null;
  intake(): ReadingIntakeState;
  stop(): Promise<void>;
}

const saidEveryMs = 60_000;

export async function startHeadOffice(options: HeadOfficeOptions): Promise<HeadOffice> {
  const { groupFile, dataFolder, logger, isIntakeOnly } = options;
  const { group, shops } = groupFile;
  const now = Date.now;
  // What has been started is stopped in the opposite order, at the end or when a later part fails to start.
  const stops: (() => Promise<void> | void)[] = [];
  const stop = async () => {
    for (const each of stops.splice(0).reverse()) await each();
  };

  try {
    mkdirSync(dataFolder, { recursive: true });
    const broker = brokerAddress(groupFile.broker, 0, groupFile.folder);
    const stores = openShopStores(groupFile, dataFolder, logger);
    stops.push(() => stores.close());

    let copies: Copies | null = null;
    let link: CopyLink | null = null;
    if (!isIntakeOnly) {
      const book = new CoatBook(join(dataFolder, "coat-book.db"), now());
      stops.push(() => book.close());
      copies = new Copies({ shops, dataFolder, stores, book, now });
      stops.push(() => copies?.close());
      link = new CopyLink({ group, broker, copies, logger });
      link.start();
      stops.push(() => link?.stop());
    }
    const intake = startReadingIntake({
      broker,
      clientId: `coatclock-intake-${group}-${hostname()}-${process.pid}`,
      shops,
      stores,
      onHeard: (shop) => copies?.get(shop)?.heard(),
      now,
      logger,
    });
    stops.push(() => intake.stop());

    const saying = setInterval(() => {
      const { connected, readingsStored, packsWaiting, packsRefused, packsOfStrangers, storeFault } = intake.state();
      const ofIntake = { connected, readingsStored, packsWaiting, packsRefused, packsOfStrangers, storeFault };
      const faults = copies?.all().filter((copy) => copy.state().fault !== null).length;
      logger.info({ intake: ofIntake, link: link?.state(), shops: shops.length, faults }, "what the head office takes");
    }, saidEveryMs);
    stops.push(() => clearInterval(saying));
    return { broker: broker.url, held: copies, intake: () => intake.state(), stop };
  } catch (error) {
    await stop();
    throw error;
  }
}
