/** Where a head office keeps the readings of its shops. */
import { mkdirSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Logger } from "pino";
import { readingsFileName } from "../data-folder.ts";
import { type Influx, openInflux, openInfluxStore, type ShopReading } from "../readings/influx.ts";
import type { InfluxAddress } from "../readings/influx-connection.ts";
import type { InfluxStore } from "../readings/influx-store.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingSource, ReadingStore, Series } from "../readings/store.ts";
import { credentialsSchema, readSecret } from "../secret-file.ts";
import type { InfluxSettings } from "../shop-store.ts";
import type { GroupFile } from "./group-file.ts";

export interface ShopStores {
  sourceOf(shop: string): ReadingSource;
  /** As a store's append, for readings of many shops. Those of one shop are stored all or none. */
  append(readings: readonly ShopReading[]): Promise<ShopReading[]>;
  close(): Promise<void>;
}

/** A folder for each shop, in which all that is held of it lies. */
export function shopFolder(dataFolder: string, shop: string): string {
  const folder = join(dataFolder, "shops", shop);
  mkdirSync(folder, { recursive: true });
  return folder;
}

export function openShopStores(groupFile: GroupFile, dataFolder: string, logger: Logger): ShopStores {
  const { store, folder } = groupFile;
  return store.kind === "sqlite" ? sqliteStores(dataFolder) : influxStores(store, folder, logger);
}

/** A SQLite file for each shop, opened when it is first wanted. */
function sqliteStores(dataFolder: string): ShopStores {
  const stores = new Map<string, ReadingStore>();
  const storeOf = (shop: string): ReadingStore => {
    const store = stores.get(shop) ?? openSqliteStore(join(shopFolder(dataFolder, shop), readingsFileName));
    stores.set(shop, store);
    return store;
  };
  return {
    sourceOf: storeOf,
    async append(readings) {
      const fresh: ShopReading[] = [];
      for (const [shop, ofShop] of byShop(readings)) {
        for (const reading of await storeOf(shop).append(ofShop)) fresh.push({ ...reading, shop });
      }
      return fresh;
    },
    async close() {
      for (const store of stores.values()) await store.close();
    },
  };
}

/** Another process may have begun a series since: what is not known is looked for again, but not more often. */
const lookedForAgainAfterMs = 10_000;

/** Nothing is asked of InfluxDB before it is needed: while it is away, readings are not taken and the shops keep them. */
function influxStores(settings: InfluxSettings, folder: string, logger: Logger): ShopStores {
  const { url, database, credentialsFile } = settings;
  const address: InfluxAddress = {
    url,
    database,
    ...(credentialsFile === undefined ? {} : readSecret(resolve(folder, credentialsFile), credentialsSchema)),
    onDropped: (message) => logger.warn({ message }, "InfluxDB drops readings as too old for it"),
  };
  let opened: Promise<Influx> | null = null;
  const influx = (): Promise<Influx> => {
    opened ??= openInflux(address).catch((error: unknown) => {
      opened = null;
      throw error;
    });
    return opened;
  };
  return {
    sourceOf: (shop) => influxSource(() => openInfluxStore({ ...address, shop })),
    append: async (readings) => (await influx()).append(readings),
    close: async () => undefined,
  };
}

function influxSource(open: () => Promise<InfluxStore>): ReadingSource {
  let opened: { store: InfluxStore; atMs: number } | null = null;
  const knowing = async (series: Series): Promise<InfluxStore> => {
    // Any reading of a series of which nothing is stored is the newest.
    const isKnown = opened !== null && !opened.store.isNewest({ ...series, atMs: -Number.MAX_VALUE, value: 0 });
    if (opened === null || (!isKnown && performance.now() - opened.atMs > lookedForAgainAfterMs)) {
      opened = { store: await open(), atMs: performance.now() };
    }
    return opened.store;
  };
  return {
    range: async (series, ...span) => (await knowing(series)).range(series, ...span),
    latest: async (series, atMs) => (await knowing(series)).latest(series, atMs),
    earliest: async (series, atMs) => (await knowing(series)).earliest(series, atMs),
    thin: async (series, span) => (await knowing(series)).thin(series, span),
    countBuckets: async (series, span) => (await knowing(series)).countBuckets(series, span),
    series: async () => (await open()).series(),
    close: async () => undefined,
  };
}

function byShop(readings: readonly ShopReading[]): Map<string, ShopReading[]> {
  const groups = new Map<string, ShopReading[]>();
  for (const reading of readings) {
    const group = groups.get(reading.shop);
    if (group === undefined) groups.set(reading.shop, [reading]);
    else group.push(reading);
  }
  return groups;
}
