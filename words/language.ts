/** The languages that texts are in. */

/** A third language is one file beside en.ts and de.ts, and a line here and in words.ts. */
export const languages = ["en", "de"] as const;
export type Language = (typeof languages)[number];

/** English as spoken where the day comes before the month. */
export const locales: Record<Language, string> = { en: "en-GB", de: "de-DE" };

export function isLanguage(text: unknown): text is Language {
  return languages.some((language) => language === text);
}
