/** The words of programs, which hold every text of every language. A page holds its own part of them. */
import { de } from "./de.ts";
import { en, type TextKey } from "./en.ts";
import type { Language } from "./language.ts";
import { type Message, readMessage } from "./message.ts";
import { type Words, type WordsSettings, writeIn } from "./write.ts";

export { isLanguage, type Language, languages } from "./language.ts";
export type { Words, WordsSettings } from "./write.ts";

export const catalogues: Readonly<Record<Language, Readonly<Record<TextKey, string>>>> = { en, de };

/** Throws RangeError when the zone is unknown. */
export function wordsOf(settings: WordsSettings): Words {
  const { language } = settings;
  const catalogue: Readonly<Record<string, string>> = catalogues[language];
  const read = new Map<string, Message>();
  return writeIn(settings, (key) => {
    const source = catalogue[key];
    if (source === undefined) return undefined;
    const message = read.get(key) ?? readMessage(source, language);
    read.set(key, message);
    return message;
  });
}
