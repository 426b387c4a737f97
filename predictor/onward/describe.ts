/** What a head office is told of the shop file: no addresses, no secrets. */
import type { ShopFile } from "../shop-file.ts";
import type { ShopDescription } from "./messages.ts";

export function describeShop({ shop, name, invented, language, timeZone, units, places }: ShopFile): ShopDescription {
  const described = Object.entries(places).map(([id, { name: named, kind, sensors }]) => [
    id,
    { name: named, kind, sensors: Object.fromEntries(Object.entries(sensors).filter(([, sensor]) => sensor)) },
  ]);
  return { shop, name, invented, language, timeZone, units, places: Object.fromEntries(described) };
}
