/** What every wall has: loading and failed, its words, the invented mark, dimming by the shop's hours, and the lost link. */
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import type { Shop } from "../../predictor/serve/api.ts";
import type { Language } from "../../words/language.ts";
import type { FeedSource } from "../parts/feed.ts";
import { InventedMark, LostCorner, Notice } from "../parts/notice.tsx";
import { isDim, type ShopClock } from "../parts/shop-clock.ts";
import { useFeed } from "../parts/use-feed.ts";
import { useShopClock } from "../parts/use-shop-clock.ts";
import { useShopWords, WordsContext } from "../parts/words-context.ts";

/** What a wall draws from. */
export interface Shown<View> {
  view: View;
  clock: ShopClock;
  nowMs: number;
  /** Since when the view is not followed, UTC ms; null while it is. */
  lostSinceMs: number | null;
}

interface Props<View> {
  source: FeedSource<View>;
  /** Null for the shop's own language. */
  chosen: Language | null;
  /** The page's name; null until there is a view. */
  title: (view: View) => string | null;
  kind: "wall-place" | "wall-places";
  children: (shown: Shown<View>) => ComponentChildren;
}

/** An address of the API, in the language chosen for this wall. */
export function inLanguage(address: string, chosen: Language | null): string {
  return chosen === null ? address : `${address}${address.includes("?") ? "&" : "?"}language=${chosen}`;
}

export function Frame<View extends { shop: Shop }>({ source, chosen, title, kind, children }: Props<View>) {
  const { view, failure, lostSinceMs, nowMs } = useFeed<View>(source);
  const words = useShopWords(view?.shop ?? null, chosen);
  const clock = useShopClock(view?.shop ?? null, words);
  const name = view === null ? null : title(view);
  useEffect(() => {
    document.documentElement.lang = words.language;
    document.title = `${name ?? words.t("wall.title")} – Coatclock`;
  }, [words, name]);

  if (view === null || clock === null) {
    return failure === null ? (
      <Notice title={words.t("wall.loading-title")} text={words.t("wall.loading")} />
    ) : (
      <Notice
        title={words.t("page.nothing-title")}
        text={failure}
        link={{ href: "/", text: words.t("wall.all") }}
        again
      />
    );
  }
  const { shop } = view;
  const dim = isDim(shop.dim, clock.minuteOfDay(nowMs));
  const classes = ["wall", kind, lostSinceMs !== null && "lost", dim && "dim", shop.invented && "marked"];
  return (
    <WordsContext.Provider value={words}>
      <div class={classes.filter(Boolean).join(" ")}>
        {shop.invented && <InventedMark />}
        {children({ view, clock, nowMs, lostSinceMs })}
        {lostSinceMs !== null && <LostCorner since={clock.when(lostSinceMs, nowMs)} />}
      </div>
    </WordsContext.Provider>
  );
}
