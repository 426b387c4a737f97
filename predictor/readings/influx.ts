/** Readings in InfluxDB (1.x API, InfluxQL), those of many shops in one database. One program writes those of a shop, or several that write the same: a value that differs is kept out only by the one that knows of it. */
import type { IPoint } from "influx";
import { oneAfterAnother } from "./in-turn.ts";
import { type InfluxAddress, InfluxConnection } from "./influx-connection.ts";
import { readingPoint } from "./influx-queries.ts";
import { grouped, InfluxStore } from "./influx-store.ts";
import type { StoredReading } from "./store.ts";

export interface ShopReading extends StoredReading {
  shop: string;
}

export interface Influx {
  storeOf(shop: string): Promise<InfluxStore>;
  /** As a store's append, for readings of many shops in one write. */
  append(readings: readonly ShopReading[]): Promise<ShopReading[]>;
}

/** Opens a database, and makes it when absent. Throws StoreAway where InfluxDB does not answer. */
export async function openInflux(address: InfluxAddress): Promise<Influx> {
  const connection = new InfluxConnection(address);
  await connection.open();
  const stores = new Map<string, Promise<InfluxStore>>();
  const inTurn = oneAfterAnother();
  const storeOf = (shop: string): Promise<InfluxStore> => {
    const opened = stores.get(shop) ?? InfluxStore.open({ connection, shop, inTurn });
    stores.set(shop, opened);
    opened.catch(() => stores.delete(shop));
    return opened;
  };
  return {
    storeOf,
    append: (readings) =>
      inTurn(async () => {
        const fresh = new Set<StoredReading>();
        const points: IPoint[] = [];
        const wrote: (() => void)[] = [];
        for (const [shop, some] of grouped(readings, (reading) => reading.shop)) {
          const store = await storeOf(shop);
          const unknown = await store.unknown(some);
          for (const reading of unknown) {
            fresh.add(reading);
            points.push(readingPoint(shop, reading));
          }
          wrote.push(() => store.wrote(unknown));
        }
        await connection.write(points);
        for (const tell of wrote) tell();
        return readings.filter((reading) => fresh.has(reading));
      }),
  };
}

/** A store of one shop on a connection of its own. */
export async function openInfluxStore({ shop, ...address }: InfluxAddress & { shop: string }): Promise<InfluxStore> {
  const influx = await openInflux(address);
  return influx.storeOf(shop);
}
