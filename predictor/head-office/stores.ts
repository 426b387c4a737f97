/** Where a head office keeps the readings of its shops. */
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { readingsFileName } from "../data-folder.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../readings/store.ts";

export interface ShopReading extends StoredReading {
  shop: string;
}

export interface ShopStores {
  storeOf(shop: string): ReadingStore;
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

/** A SQLite file for each shop, opened when it is first wanted. */
export function openSqliteStores(dataFolder: string): ShopStores {
  const stores = new Map<string, ReadingStore>();
  const storeOf = (shop: string): ReadingStore => {
    const store = stores.get(shop) ?? openSqliteStore(join(shopFolder(dataFolder, shop), readingsFileName));
    stores.set(shop, store);
    return store;
  };
  return {
    storeOf,
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

function byShop(readings: readonly ShopReading[]): Map<string, ShopReading[]> {
  const groups = new Map<string, ShopReading[]>();
  for (const reading of readings) {
    const group = groups.get(reading.shop);
    if (group === undefined) groups.set(reading.shop, [reading]);
    else group.push(reading);
  }
  return groups;
}
