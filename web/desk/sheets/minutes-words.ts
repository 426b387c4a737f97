/** Minutes after the finish, in the unit that a person would say. */
import type { Words } from "../../../words/words.ts";

export function minutesWords(minutes: number | null, words: Words): string {
  if (minutes === null) return words.t("sheets.never");
  const [value, key] =
    minutes < 120
      ? ([minutes, "sheets.minutes"] as const)
      : minutes < 48 * 60
        ? ([minutes / 60, "sheets.hours"] as const)
        : ([minutes / 1440, "sheets.days"] as const);
  return words.t(key, { value: value < 10 ? Math.round(value * 10) / 10 : Math.round(value) });
}
