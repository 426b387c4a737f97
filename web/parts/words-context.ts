/** The words of this page: its language, and the shop's units and zone. */
import { createContext } from "preact";
import { useContext, useMemo } from "preact/hooks";
import type { Shop } from "../../predictor/serve/api.ts";
import { type Language, type Words, wordsOf } from "../../words/words.ts";

/** Before the shop is known a page speaks the browser's language where there is one, and writes no figures. */
export const WordsContext = createContext<Words>(plainWords(browserLanguage()));

export const useWords = (): Words => useContext(WordsContext);

/** Words for a shop, in the language chosen on this device or else the shop's. */
export function useShopWords(shop: Shop | null, chosen: Language | null): Words | null {
  return useMemo(
    () => shop && wordsOf({ language: chosen ?? shop.language, timeZone: shop.timeZone, units: shop.units }),
    [shop?.language, shop?.timeZone, shop?.units.temperature, shop?.units.clock, chosen],
  );
}

/** Where no shop is known: in the language chosen on this device or else the browser's, without figures. */
export function useUnknownWords(chosen: Language | null): Words {
  const before = useWords();
  return useMemo(() => (chosen === null ? before : plainWords(chosen)), [before, chosen]);
}

function plainWords(language: Language): Words {
  return wordsOf({ language, timeZone: "UTC", units: { temperature: "C", clock: "24h" } });
}

function browserLanguage(): Language {
  return globalThis.navigator?.language?.startsWith("de") ? "de" : "en";
}
