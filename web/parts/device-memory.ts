/** What a device chooses for itself and keeps: its language. A browser that keeps nothing forgets it with the page. */
import { isLanguage, type Language } from "../../words/language.ts";
import type { Words } from "../../words/write.ts";
import { serverNow } from "./server-now.ts";

const languageKey = "coatclock.language";

/** Null for the shop's own. */
export function chosenLanguage(): Language | null {
  const kept = read(languageKey);
  return isLanguage(kept) ? kept : null;
}

export function chooseLanguage(language: Language | null): void {
  write(languageKey, language);
}

/** An address of the API, in the language chosen on this device. */
export function inChosenLanguage(address: string): string {
  const language = chosenLanguage();
  return language === null ? address : `${address}${address.includes("?") ? "&" : "?"}language=${language}`;
}

/** The server's clock as last heard; this device's own before that. */
export const deviceClock = serverNow(() => performance.now(), Date.now);

let spoken: Words | null = null;

/** From now on the page speaks so. */
export function speak(words: Words): void {
  spoken = words;
}

/** The words of the page as it stands, for what speaks outside of it. */
export function spokenWords(): Words {
  if (spoken === null) throw new Error("a page is opened with its words");
  return spoken;
}

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function write(key: string, value: string | null): void {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, value);
  } catch {
    // The choice holds until the page is loaded anew.
  }
}
