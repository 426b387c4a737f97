/** The words of this page: its part of the catalogue, a language at a time, each fetched when it is first wanted. */

import { isLanguage, type Language } from "../../words/language.ts";
import type { Message } from "../../words/message.ts";
import { type Words, type WordsSettings, writeIn } from "../../words/write.ts";

type Texts = Readonly<Record<string, Message>>;

const againAfterMs = 2_000;
const held = new Map<Language, Texts>();
const coming = new Map<Language, Promise<void>>();

/** Resolves once the language's texts are held; asks until they come. */
export function fetchTexts(language: Language): Promise<void> {
  const known = coming.get(language);
  if (known !== undefined) return known;
  const promise = untilFetched(language).then((texts) => void held.set(language, texts));
  coming.set(language, promise);
  return promise;
}

async function untilFetched(language: Language): Promise<Texts> {
  const address = document.querySelector<HTMLLinkElement>(`link[rel="texts"][hreflang="${language}"]`)?.href;
  if (address === undefined) throw new Error(`the page was built without its texts in ${language}`);
  for (;;) {
    try {
      const response = await fetch(address);
      if (response.ok) return (await response.json()) as Texts;
    } catch {
      // Without the network there is nothing but to ask again.
    }
    await new Promise((resolve) => setTimeout(resolve, againAfterMs));
  }
}

/** The texts of `settings.language` must be held. */
export function pageWords(settings: WordsSettings): Words {
  const texts = held.get(settings.language);
  if (texts === undefined) throw new Error(`no texts in ${settings.language} are held`);
  return writeIn(settings, (key) => texts[key]);
}

/** What a page speaks that nobody chose a language for, until the shop is known. */
export function browserLanguage(): Language {
  const [language] = navigator.language.split("-");
  return isLanguage(language) ? language : "en";
}
