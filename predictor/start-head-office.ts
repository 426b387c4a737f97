/** Wires a head office's parts together; nothing else. */
import { randomUUID } from "node:crypto";
import { mkdirSync } from "node:fs";
import { hostname } from "node:os";
import { join } from "node:path";
import type { Logger } from "pino";
import type { ClockState } from "../collector/readings.ts";
import { recordsFileName } from "./data-folder.ts";
import { Copies } from "./head-office/copies.ts";
import { CopyLink } from "./head-office/copy-link.ts";
import type { GroupFile } from "./head-office/group-file.ts";
import { type ReadingIntakeState, startReadingIntake } from "./head-office/reading-intake.ts";
import type { HeldShops } from "./head-office/shops.ts";
import { openShopStores } from "./head-office/stores.ts";
import { People, peopleFileName } from "./people/people.ts";
import { CoatBook } from "./proof/coat-book.ts";
import { Records } from "./records/records.ts";
import { startOfficeServer } from "./serve/office-server.ts";
import { brokerAddress } from "./shop-file.ts";

export interface HeadOfficeOptions {
  groupFile: GroupFile;
  dataFolder: string;
  httpPort: number;
  pagesFolder: string;
  version: string;
  clockState: () => ClockState;
  logger: Logger;
}

export interface HeadOffice {
  httpPort: number;
  /** Where shops tell what they hold. */
  broker: string;
  held: HeldShops;
  intake(): ReadingIntakeState;
  /** Path of the set-up page while nobody is there to sign in; null afterwards. */
  setUpPath: string | null;
  stop(): Promise<void>;
}

const saidEveryMs = 60_000;

/** What has been started is stopped in the opposite order, at the end or when a later part fails to start. */
type Stops = (() => Promise<void> | void)[];

async function stopAll(stops: Stops): Promise<void> {
  for (const each of stops.splice(0).reverse()) await each();
}

export async function startHeadOffice(options: HeadOfficeOptions): Promise<HeadOffice> {
  const { groupFile, dataFolder, logger } = options;
  const { group, shops } = groupFile;
  const now = Date.now;
  const startedAtMs = now();
  const stops: Stops = [];
  try {
    mkdirSync(dataFolder, { recursive: true });
    const broker = brokerAddress(groupFile.broker, 0, groupFile.folder);
    const stores = openShopStores(groupFile, dataFolder, logger);
    stops.push(() => stores.close());
    const book = new CoatBook(join(dataFolder, "coat-book.db"), now());
    stops.push(() => book.close());
    const held = new Copies({ shops, dataFolder, stores, book, now });
    stops.push(() => held.close());
    const link = new CopyLink({ group, broker, copies: held, logger });
    link.start();
    stops.push(() => link.stop());
    const onHeard = (shop: string) => held.get(shop)?.heard();
    const intake = startReadingIntake({ broker, clientId: intakeId(group), shops, stores, onHeard, now, logger });
    stops.push(() => intake.stop());

    // Who may sign in here, and nothing of a shop.
    const records = new Records({ file: join(dataFolder, recordsFileName), now, clock: options.clockState });
    stops.push(() => records.close());
    const people = await People.open({ file: join(dataFolder, peopleFileName), records, now, rehearsalPin: null });
    stops.push(() => people.close());
    const server = await startOfficeServer({
      group: groupFile,
      shops: held,
      people,
      version: options.version,
      startedAtMs,
      now,
      port: options.httpPort,
      pagesFolder: options.pagesFolder,
      logger,
    });
    stops.push(() => server.stop());

    const saying = setInterval(() => {
      const faults = held.all().filter((copy) => copy.state().fault !== null).length;
      logger.info({ ...takenIn(intake.state()), link: link.state(), shops: shops.length, faults }, "what is taken in");
    }, saidEveryMs);
    stops.push(() => clearInterval(saying));
    const setUpToken = people.setUpToken();
    return {
      httpPort: server.port,
      broker: broker.url,
      held,
      intake: () => intake.state(),
      setUpPath: setUpToken === null ? null : `/set-up?token=${setUpToken}`,
      stop: () => stopAll(stops),
    };
  } catch (error) {
    await stopAll(stops);
    throw error;
  }
}

/** Takes readings and nothing else, beside the head office of the group. */
export function startIntake({
  groupFile,
  dataFolder,
  logger,
}: Pick<HeadOfficeOptions, "groupFile" | "dataFolder" | "logger">) {
  const { group, shops } = groupFile;
  mkdirSync(dataFolder, { recursive: true });
  const broker = brokerAddress(groupFile.broker, 0, groupFile.folder);
  const stores = openShopStores(groupFile, dataFolder, logger);
  const clientId = intakeId(group);
  const intake = startReadingIntake({
    broker,
    clientId,
    shops,
    stores,
    onHeard: () => undefined,
    now: Date.now,
    logger,
  });
  const saying = setInterval(() => logger.info(takenIn(intake.state()), "what is taken in"), saidEveryMs);
  return {
    broker: broker.url,
    intake: () => intake.state(),
    async stop() {
      clearInterval(saying);
      await intake.stop();
      await stores.close();
    },
  };
}

/** Two of one id would throw each other out. */
function intakeId(group: string): string {
  return `coatclock-intake-${group}-${hostname()}-${randomUUID()}`;
}

function takenIn({
  connected,
  readingsStored,
  packsWaiting,
  packsRefused,
  packsOfStrangers,
  storeFault,
}: ReadingIntakeState) {
  return { intake: { connected, readingsStored, packsWaiting, packsRefused, packsOfStrangers, storeFault } };
}
