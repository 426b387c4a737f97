/** Which page stands at which address, and what stands over every page. */
import type { ComponentChildren } from "preact";
import { InventedMark, LostCorner, Notice } from "../parts/notice.tsx";
import { signInPath } from "../parts/router.ts";
import { useWords } from "../parts/words-context.ts";
import { CarListPage } from "./cars/car-list.tsx";
import { CardPage } from "./cars/card-page.tsx";
import { NewCarPage } from "./cars/new-car-page.tsx";
import { CarPage } from "./coats/car-page.tsx";
import { CoatPage } from "./coats/coat-page.tsx";
import { FinishPage } from "./coats/finish-page.tsx";
import { ShellProvider, useShell } from "./core/shell.tsx";
import { WaitingStrip } from "./core/waiting.tsx";
import { type PageOf, pageAt } from "./page-at.ts";
import { peoplePages } from "./people/people-pages.tsx";
import { MixPage } from "./work/mix-page.tsx";
import { Notices } from "./work/notices.tsx";
import { SprayPage } from "./work/spray-page.tsx";
import { WarningsPage } from "./work/warnings-page.tsx";

/** Stand once the shop is known, and turn grey while it is not followed. The first that fits counts. */
const shopPages: readonly PageOf[] = [
  ["/", () => <CarListPage />],
  ["/cars/new", () => <NewCarPage />],
  ["/cars/:car", ({ car = "" }) => <CarPage carId={car} />],
  ["/cars/:car/card", ({ car = "" }) => <CardPage carId={car} />],
  ["/cars/:car/finish", ({ car = "" }) => <FinishPage carId={car} />],
  ["/coats/:coat", ({ coat = "" }) => <CoatPage coatId={coat} />],
  ["/mix", () => <MixPage />],
  ["/spray", () => <SprayPage />],
  ["/warnings", () => <WarningsPage />],
];

export function App() {
  return (
    <ShellProvider>
      <Frame />
    </ShellProvider>
  );
}

function Frame() {
  const { cars, clock, lostSinceMs, nowMs, path, search, me } = useShell();
  const words = useWords();
  const shopPage = pageAt(shopPages, path);
  // What is not there can't be old.
  const isLost = lostSinceMs !== null && cars !== null;
  return (
    <div class={`shell${isLost && shopPage !== null ? " lost" : ""}`}>
      {cars?.shop.invented === true && <InventedMark />}
      {me !== null && !me.isSetUp && path !== "/set-up" && <p class="shell-note">{words.t("shell.not-set-up")}</p>}
      {isLost && clock !== null && <LostCorner since={clock.when(lostSinceMs, nowMs)} />}
      <WaitingStrip />
      <Notices />
      <div key={path + search}>
        {shopPage === null ? (pageAt(peoplePages, path) ?? <Missing />) : <WithShop>{shopPage}</WithShop>}
      </div>
    </div>
  );
}

function WithShop({ children }: { children: ComponentChildren }) {
  const { cars, clock, failure, me, path, search } = useShell();
  const words = useWords();
  if (cars !== null && clock !== null) return <>{children}</>;
  if (failure === null) return <Notice title={words.t("shell.loading-title")} text={words.t("shell.loading")} />;
  const mustSignIn = me?.isSetUp && me.person === null;
  const link = { href: signInPath(path, search), text: words.t("shell.sign-in") };
  return <Notice title={words.t("page.nothing-title")} text={failure} {...(mustSignIn ? { link } : {})} again />;
}

function Missing() {
  const words = useWords();
  const link = { href: "/", text: words.t("shell.to-cars") };
  return <Notice title={words.t("shell.missing-title")} text={words.t("shell.missing")} link={link} />;
}
