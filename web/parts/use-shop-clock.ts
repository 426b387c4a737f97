/** The shop's clock as a hook, made once for a time zone and its words and not once for each view. */
import { useMemo } from "preact/hooks";
import type { Shop } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";
import { type ShopClock, shopClock } from "./shop-clock.ts";

/** Null until there is a shop. `words` are those of useShopWords. */
export function useShopClock(shop: Shop | null, words: Words | null): ShopClock | null {
  const timeZone = shop?.timeZone ?? null;
  return useMemo(() => (timeZone === null || words === null ? null : shopClock(timeZone, words)), [timeZone, words]);
}
