/** Which page of the desk stands at which address. */
import type { ComponentChildren } from "preact";
import { Notice } from "../parts/notice.tsx";
import { matched } from "../parts/router.ts";
import { useWords } from "../parts/words-context.ts";
import { DeskProvider, useDesk } from "./desk.tsx";
import { PredictionsPage } from "./predictions/predictions-page.tsx";

type Params = Readonly<Record<string, string>>;

/** The first that fits counts. */
const pages: readonly [string, (params: Params) => ComponentChildren][] = [["/predictions", () => <PredictionsPage />]];

export function App() {
  return (
    <DeskProvider>
      <Page />
    </DeskProvider>
  );
}

function Page() {
  const { path, search } = useDesk();
  const words = useWords();
  for (const [pattern, page] of pages) {
    const params = matched(pattern, path);
    if (params !== null) return <div key={path + search}>{page(params)}</div>;
  }
  const link = { href: "/log", text: words.t("desk.log") };
  return <Notice title={words.t("shell.missing-title")} text={words.t("shell.missing")} link={link} />;
}
