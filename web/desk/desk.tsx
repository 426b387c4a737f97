/** What every page of the desk stands in: the shop, who is signed in, the way from page to page. */
import { type ComponentChildren, createContext } from "preact";
import { useContext, useEffect, useState } from "preact/hooks";
import type { Place, Shop, ShopAndPlaces } from "../../predictor/serve/api.ts";
import type { OfficeView } from "../../predictor/serve/office-api.ts";
import type { Me } from "../../predictor/serve/people-api.ts";
import { chosenLanguage, deviceClock, speak } from "../parts/device-memory.ts";
import { InventedMark, Notice } from "../parts/notice.tsx";
import { signInPath } from "../parts/router.ts";
import type { ShopClock } from "../parts/shop-clock.ts";
import { useAsked } from "../parts/use-asked.ts";
import { type Go, usePath } from "../parts/use-path.ts";
import { useShopClock } from "../parts/use-shop-clock.ts";
import { useShopWords, WordsContext } from "../parts/words-context.ts";

export interface Desk {
  /** The shop that is spoken of; at a head office its group, but for what stands in InShop. */
  shop: Shop;
  /** The shops that a head office holds copies of; null in a shop. */
  office: OfficeView["shops"] | null;
  /** By whose clock pages speak that are of no one shop. */
  timeZone: string;
  places: readonly Place[];
  clock: ShopClock;
  /** Who is signed in; null when nobody is, or while that is not known. */
  me: Me | null;
  /** By the server's clock, each half minute. */
  nowMs: number;
  path: string;
  /** What stands after the path, such as "?car=7". */
  search: string;
  go: Go;
}

const tickMs = 30_000;
const DeskContext = createContext<Desk | null>(null);

export function useDesk(): Desk {
  const desk = useContext(DeskContext);
  if (desk === null) throw new Error("a page stands at the desk");
  return desk;
}

export function DeskProvider({ children }: { children: ComponentChildren }) {
  const { path, search, go } = usePath();
  const { answer, failure } = useAsked<ShopAndPlaces & Partial<OfficeView>>("/api/shop");
  const { answer: me } = useAsked<Me>("/api/me");
  const shop = answer?.shop ?? null;
  const words = useShopWords(shop, chosenLanguage());
  speak(words);
  const clock = useShopClock(shop, words);
  const [nowMs, setNowMs] = useState(() => deviceClock.nowMs());
  useEffect(() => {
    const tick = setInterval(() => setNowMs(deviceClock.nowMs()), tickMs);
    return () => clearInterval(tick);
  }, []);
  useEffect(() => {
    document.documentElement.lang = words.language;
  }, [words.language]);
  if (answer === null || shop === null || clock === null) {
    const link = { href: signInPath(path, search), text: words.t("shell.sign-in") };
    const mustSignIn = me?.isSetUp === true && me.person === null;
    if (failure === null) return <Notice title={words.t("shell.loading-title")} text={words.t("shell.loading")} />;
    return <Notice title={words.t("page.nothing-title")} text={failure} {...(mustSignIn ? { link } : {})} again />;
  }
  const office = answer.shops ?? null;
  const desk: Desk = {
    shop,
    office,
    timeZone: shop.timeZone,
    places: answer.places,
    clock,
    me,
    nowMs,
    path,
    search,
    go,
  };
  return (
    <WordsContext.Provider value={words}>
      <DeskContext.Provider value={desk}>
        {shop.invented && <InventedMark />}
        {children}
      </DeskContext.Provider>
    </WordsContext.Provider>
  );
}

/** What stands in it speaks of one shop of a head office, by its zone, units and places. */
export function InShop({ id, children }: { id: string; children: ComponentChildren }) {
  const desk = useDesk();
  const held = desk.office?.find((each) => each.id === id);
  const { places = [], ...own } = held ?? {};
  const shop = { ...desk.shop, ...own };
  const words = useShopWords(shop, chosenLanguage());
  const clock = useShopClock(shop, words) ?? desk.clock;
  return (
    <WordsContext.Provider value={words}>
      <DeskContext.Provider value={{ ...desk, shop, places, clock }}>
        {shop.invented && !desk.shop.invented && <InventedMark />}
        {children}
      </DeskContext.Provider>
    </WordsContext.Provider>
  );
}
