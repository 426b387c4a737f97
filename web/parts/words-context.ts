/** The words of this page: its language, and the shop's units and zone. */
import { createContext } from "preact";
import { useContext, useEffect, useMemo, useState } from "preact/hooks";
import type { Shop } from "../../predictor/serve/api.ts";
import type { Language } from "../../words/language.ts";
import type { Words } from "../../words/write.ts";
import { fetchTexts, pageWords } from "./page-words.ts";

export const WordsContext = createContext<Words | null>(null);

export function useWords(): Words {
  const words = useContext(WordsContext);
  if (words === null) throw new Error("a page is opened with its words");
  return words;
}

/** Before the shop is known a page writes no figures. */
export const unknownShop = { timeZone: "UTC", units: { temperature: "C", clock: "24h" } } as const;

/** Words for a shop, in the language chosen on this device or else the shop's: once its texts came, and until then in the one before. */
export function useShopWords(shop: Shop | null, chosen: Language | null): Words {
  const { language: first } = useWords();
  const wanted = chosen ?? shop?.language ?? first;
  const [language, setLanguage] = useState(first);
  useEffect(() => {
    let isOver = false;
    void fetchTexts(wanted).then(() => {
      if (!isOver) setLanguage(wanted);
    });
    return () => {
      isOver = true;
    };
  }, [wanted]);
  const { timeZone, units } = shop ?? unknownShop;
  return useMemo(() => pageWords({ language, timeZone, units }), [language, timeZone, units.temperature, units.clock]);
}
