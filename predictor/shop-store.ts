/** The store of readings that a shop file names. */
import { existsSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Logger } from "pino";
import { z } from "zod";
import { readingsFileName, waitingFileName } from "./data-folder.ts";
import type { InfluxStore } from "./readings/influx-store.ts";
import type { OnwardQueue } from "./readings/onward-queue.ts";
import { openSqliteSource, openSqliteStore, openSqliteStoreWithQueue } from "./readings/sqlite.ts";
import type { ReadingSource, ReadingStore } from "./readings/store.ts";
import { WaitingFile } from "./readings/waiting-file.ts";
import { type Waiting, WaitingStore } from "./readings/waiting-store.ts";
import { credentialsSchema, readSecret } from "./secret-file.ts";

export const storeSchema = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("sqlite") }),
  z.strictObject({
    kind: z.literal("influx"),
    url: z
      .string()
      .regex(/^https?:\/\/[^/\s]/, "expected an address such as http://store.local:8086")
      .refine((url) => !url.includes("@"), "an address without user name and password: they belong in credentialsFile"),
    database: z.string().min(1).max(64).default("coatclock"),
    /** YAML file with username and password, readable by its owner only. */
    credentialsFile: z.string().optional(),
  }),
]);
type StoreSettings = z.infer<typeof storeSchema>;
export type InfluxSettings = Extract<StoreSettings, { kind: "influx" }>;

interface OfShop {
  shopFile: { shop: string; store: StoreSettings; folder: string };
  dataFolder: string;
}

export interface ShopStore {
  store: ReadingStore;
  /** What was done about a damaged file. */
  damage: string | null;
  /** Null where the store is on this machine. */
  waiting: () => Waiting | null;
  /** Of what the head office has not acknowledged; null where the shop file names none. */
  queue: OnwardQueue | null;
}

/** Waits for a store on another machine until it is there. */
export async function openShopStore({
  shopFile,
  dataFolder,
  logger,
}: { shopFile: OfShop["shopFile"] & { headOffice?: object | undefined } } & Omit<OfShop, "shopFile"> & {
    logger: Logger;
  }): Promise<ShopStore> {
  const { store: settings, headOffice } = shopFile;
  if (settings.kind === "sqlite") {
    const readingsFile = join(dataFolder, readingsFileName);
    const { store, queue } =
      headOffice === undefined
        ? { store: openSqliteStore(readingsFile), queue: null }
        : openSqliteStoreWithQueue(readingsFile);
    return { store, damage: store.damage, waiting: () => null, queue };
  }
  const file = new WaitingFile(join(dataFolder, waitingFileName));
  const store = await WaitingStore.open({ file, now: Date.now, logger }, () =>
    openInfluxOf(shopFile, settings, (message) =>
      logger.warn({ message }, "InfluxDB drops readings as too old for it"),
    ),
  );
  return { store, damage: file.damage, waiting: () => store.state(), queue: null };
}

/** To read from while the program runs or not; null where nothing was stored yet. */
export async function openShopSource({ shopFile, dataFolder }: OfShop): Promise<ReadingSource | null> {
  if (shopFile.store.kind === "influx") return openInfluxOf(shopFile, shopFile.store);
  const file = join(dataFolder, readingsFileName);
  return existsSync(file) ? openSqliteSource(file) : null;
}

/** Throws StoreAway where InfluxDB does not answer. Its client is loaded here: few shops have it, and it would lengthen every start. */
export async function openInfluxOf(
  { shop, folder }: OfShop["shopFile"],
  { url, database, credentialsFile }: InfluxSettings,
  onDropped?: (message: string) => void,
): Promise<InfluxStore> {
  const credentials =
    credentialsFile === undefined ? {} : readSecret(resolve(folder, credentialsFile), credentialsSchema);
  const { openInfluxStore } = await import("./readings/influx.ts");
  return openInfluxStore({ shop, url, database, ...credentials, ...(onDropped && { onDropped }) });
}
