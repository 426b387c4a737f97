/** Instead of a car or a coat: while it is looked for, and when there is none. */
import { useWords } from "../../parts/words-context.ts";
import { Page } from "../core/parts.tsx";

export function NoSuch({ isLoading, detail }: { isLoading: boolean; detail?: string | undefined }) {
  const words = useWords();
  return (
    <Page title={words.t(isLoading ? "page.looking" : "page.none")} back="/">
      <p role="status" class="hint">
        {isLoading ? words.t("page.looking-hint") : (detail ?? words.t("page.none-hint"))}
      </p>
    </Page>
  );
}
