/** What every page of the phone stands in: the live view of the cars, who is signed in, the way from page to page, what waits. */
import { type ComponentChildren, createContext } from "preact";
import { useCallback, useContext, useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Cars, Notice, SheetView } from "../../../predictor/serve/api.ts";
import type { Me } from "../../../predictor/serve/people-api.ts";
import type { Language } from "../../../words/language.ts";
import { chooseLanguage, chosenLanguage, deviceClock, inChosenLanguage, speak } from "../../parts/device-memory.ts";
import type { FeedSource } from "../../parts/feed.ts";
import { signInPath } from "../../parts/router.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useFeed } from "../../parts/use-feed.ts";
import { type Go, usePath } from "../../parts/use-path.ts";
import { useShopClock } from "../../parts/use-shop-clock.ts";
import { useShopWords, WordsContext } from "../../parts/words-context.ts";
import { enterFor } from "./enter.ts";
import { useKeptView, useLastCopy, useLater, useTimesSeen } from "./kept.ts";
import type { OutboxState } from "./outbox.ts";
import { useOutbox } from "./use-outbox.ts";

export interface Shell {
  /** False at a head office. */
  hasCars: boolean;
  /** The cars of the shop with their coats; null until they came, now or on an earlier day. */
  cars: Cars | null;
  /** Why there is no view; null while loading or when there is one. */
  failure: string | null;
  /** Since when the view is not followed, UTC ms; null while it is. */
  lostSinceMs: number | null;
  /** By the server's clock. */
  nowMs: number;
  /** Null until the shop is known. */
  clock: ShopClock | null;
  /** Null until it is known who is signed in. */
  me: Me | null;
  /** What the predictor just said of it, after signing in or out. */
  setMe(me: Me): void;
  path: string;
  /** What stands after the path, such as "?car=7". */
  search: string;
  go: Go;
  sheets: SheetView[];
  /** Calls back for each notice until the returned function is called. */
  onNotice(listener: (notice: Notice) => void): () => void;
  /** Null until it was looked at. */
  outbox: OutboxState | null;
  /** Null for the shop's own. */
  language: Language | null;
  setLanguage(language: Language | null): void;
}

/** Without an answer for so long the page shows what the phone kept, as old (our choice). */
const lateAfterMs = 3_000;

const ShellContext = createContext<Shell | null>(null);

export function useShell(): Shell {
  const shell = useContext(ShellContext);
  if (shell === null) throw new Error("a page stands in the shell");
  return shell;
}

/** `hasCars` is false at a head office: its pages stand without. */
export function ShellProvider({ hasCars = true, children }: { hasCars?: boolean; children: ComponentChildren }) {
  const { path, search, go, outdated } = usePath();
  const [language, setLanguage] = useState(chosenLanguage);
  const [listeners] = useState(() => new Set<(notice: Notice) => void>());
  const [isLinked, setLinked] = useState(true);
  const [me, setMe] = useKeptView<Me>("me", "/api/me", isLinked, String(useTimesSeen()));
  const signedInAs = me?.person?.name ?? "";
  // Who signs in is shown what was closed to others, at once.
  const source = useMemo(
    (): FeedSource<Cars> => ({
      load: inChosenLanguage("/api/cars"),
      stream: inChosenLanguage("/api/stream"),
      event: "cars",
      hear: {
        notice: (data) => {
          for (const listener of listeners) listener(data as Notice);
        },
      },
    }),
    [language, signedInAs, listeners],
  );
  const feed = useFeed<Cars>(hasCars ? source : null, { clock: deviceClock, outdated });
  useEffect(() => setLinked(feed.lostSinceMs === null), [feed.lostSinceMs]);
  const last = useLastCopy<Cars>("cars", feed.view);
  const isLate = useLater(lateAfterMs) || feed.failure !== null || feed.lostSinceMs !== null;
  // Where reading needs signing in, what was kept for another person stays out of sight.
  const isClosed = me?.isSetUp === true && me.person === null && me.people.length === 0;
  const old = feed.view === null && isLate && !isClosed ? last : null;
  const cars = isClosed ? null : (feed.view ?? old?.view ?? null);
  const lostSinceMs = old?.atMs ?? feed.lostSinceMs;

  const words = useShopWords(cars?.shop ?? null, language);
  const clock = useShopClock(cars?.shop ?? null, words);
  speak(words);
  const [sheets] = useKeptView<{ sheets: SheetView[] }>("sheets", hasCars ? "/api/sheets" : null, isLinked, signedInAs);
  const outbox = useOutbox(isLinked, signedInAs);

  const latest = useRef({ me, setMe, cars, go });
  latest.current = { me, setMe, cars, go };
  useEffect(() => {
    enterFor({
      who: () => latest.current.me?.person?.name ?? null,
      carOfCoat: (coat) =>
        latest.current.cars?.cars.find(({ coats }) => coats.some(({ id }) => id === coat))?.id ?? null,
      signIn: () => {
        // The session is over, whatever the phone thought.
        const known = latest.current.me;
        if (known !== null && known.person !== null) latest.current.setMe({ ...known, person: null });
        const { pathname, search: asked } = location;
        if (pathname !== "/sign-in") latest.current.go(signInPath(pathname, asked));
      },
    });
  }, []);

  const onNotice = useCallback(
    (listener: (notice: Notice) => void) => {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
    [listeners],
  );
  const choose = useCallback((chosen: Language | null) => {
    chooseLanguage(chosen);
    setLanguage(chosen);
  }, []);
  useEffect(() => {
    document.documentElement.lang = words.language;
  }, [words.language]);

  const shell: Shell = {
    hasCars,
    cars,
    failure: cars === null ? feed.failure : null,
    lostSinceMs,
    nowMs: feed.nowMs,
    clock,
    me,
    setMe,
    path,
    search,
    go,
    sheets: sheets?.sheets ?? noSheets,
    onNotice,
    outbox,
    language,
    setLanguage: choose,
  };
  return (
    <WordsContext.Provider value={words}>
      <ShellContext.Provider value={shell}>{children}</ShellContext.Provider>
    </WordsContext.Provider>
  );
}

const noSheets: SheetView[] = [];
