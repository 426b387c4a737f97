/** A text of the catalogue as it is written from: read once, here or when the pages are built. */
import { IntlMessageFormat } from "intl-messageformat";
import { type Language, locales } from "./language.ts";

/** Plain text, or the parts of an ICU message. */
export type Message = string | ReturnType<IntlMessageFormat["getAst"]>;

/** Reads ICU message syntax. Throws SyntaxError where it is none. */
export function readMessage(source: string, language: Language): Message {
  const parts = new IntlMessageFormat(source, locales[language], undefined, { ignoreTag: true }).getAst();
  const [only] = parts;
  return parts.length === 1 && only?.type === 0 ? only.value : parts;
}
