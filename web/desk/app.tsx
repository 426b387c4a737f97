/** Which page of the desk stands at which address. */
import type { ComponentChildren } from "preact";
import { Notice } from "../parts/notice.tsx";
import { matched } from "../parts/router.ts";
import { useWords } from "../parts/words-context.ts";
import { DeskProvider, InShop, useDesk } from "./desk.tsx";
import { ComparePage } from "./file/compare-page.tsx";
import { FilePage } from "./file/file-page.tsx";
import { LogPage } from "./log/log-page.tsx";
import { PredictionsPage } from "./predictions/predictions-page.tsx";
import { SensorsPage } from "./sensors/sensors-page.tsx";
import { SheetPage } from "./sheets/sheet-page.tsx";
import { SheetsPage } from "./sheets/sheets-page.tsx";
import { ShopsPage } from "./shops/shops-page.tsx";

type Params = Readonly<Record<string, string>>;

/** The first that fits counts. */
const pages: readonly [string, (params: Params) => ComponentChildren][] = [
  ["/log", () => <LogPage />],
  ["/log/compare", () => <ComparePage />],
  ["/log/:coat", ({ coat = "" }) => <FilePage of={{ shop: null, coat }} />],
  ["/log/:shop/:coat", ({ shop = "", coat = "" }) => inShop(shop, <FilePage of={{ shop, coat }} />)],
  ["/predictions", () => <PredictionsPage />],
  ["/sensors", () => <SensorsPage />],
  ["/shops", () => <ShopsPage />],
  ["/sheets", () => anew(<SheetsPage />)],
  ["/sheets/:sheet", ({ sheet = "" }) => anew(<SheetPage id={sheet} />)],
];

const inShop = (shop: string, page: ComponentChildren) => <InShop id={shop}>{page}</InShop>;

/** Of a page that is another one with another search: another revision, the form. */
const anew = (page: ComponentChildren) => <BySearch>{page}</BySearch>;

function BySearch({ children }: { children: ComponentChildren }) {
  const { search } = useDesk();
  return <div key={search}>{children}</div>;
}

export function App() {
  return (
    <DeskProvider>
      <Page />
    </DeskProvider>
  );
}

function Page() {
  const { path } = useDesk();
  const words = useWords();
  for (const [pattern, page] of pages) {
    const params = matched(pattern, path);
    // What stands after the path is the page's own to follow: a filter that changes keeps the field one is in.
    if (params !== null) return <div key={path}>{page(params)}</div>;
  }
  const link = { href: "/log", text: words.t("desk.log") };
  return <Notice title={words.t("shell.missing-title")} text={words.t("shell.missing")} link={link} />;
}
