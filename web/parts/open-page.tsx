/** Opens a page in the first language it speaks, once its texts came. */
import { type ComponentChild, render } from "preact";
import type { Language } from "../../words/language.ts";
import { speak } from "./device-memory.ts";
import { browserLanguage, fetchTexts, pageWords } from "./page-words.ts";
import { unknownShop, WordsContext } from "./words-context.ts";

/** What the page shows first has the link to itself for so long (our choice). */
const laterAfterMs = 5_000;

/** `chosen` is null for the shop's language: the browser's until the shop is known. */
export async function openPage(chosen: Language | null, page: ComponentChild): Promise<void> {
  const host = document.getElementById("page");
  if (host === null) return;
  const language = chosen ?? browserLanguage();
  await fetchTexts(language);
  const words = pageWords({ language, ...unknownShop });
  speak(words);
  render(<WordsContext.Provider value={words}>{page}</WordsContext.Provider>, host);
  setTimeout(fetchLater, laterAfterMs);
}

/** What the page asks for when it is wanted comes before that, in case there is no network then. */
function fetchLater(): void {
  for (const link of document.querySelectorAll<HTMLLinkElement>('link[rel="later"]')) link.rel = "prefetch";
}
