/** A part of the page that has no answer. */
import { useWords } from "../../parts/words-context.ts";

/** Why there is nothing to see, and that the page keeps trying. */
export function Failed({ text }: { text: string }) {
  return (
    <p class="sensors-failed" role="alert">
      {text} {useWords().t("page.trying")}
    </p>
  );
}
