/** The shop's clock as a hook, made once for a time zone and not once for each view. */
import { useMemo } from "preact/hooks";
import type { Shop } from "../../predictor/serve/api.ts";
import { type ShopClock, shopClock } from "./shop-clock.ts";

/** Null until there is a shop. */
export function useShopClock(shop: Shop | null): ShopClock | null {
  const timeZone = shop?.timeZone ?? null;
  const clock = shop?.units.clock ?? "24h";
  return useMemo(() => (timeZone === null ? null : shopClock(timeZone, clock)), [timeZone, clock]);
}
