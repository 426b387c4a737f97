/** What is usually done about a warning, as one tap, and how long one may wait. */
import type { Warning } from "../../../predictor/serve/api.ts";
import type { TextKey } from "../../../words/text.ts";

type Rule = Warning["rule"];

const aboutAir: readonly TextKey[] = ["warnings.done-heated", "warnings.done-moved", "warnings.done-seen"];
const aboutCoats: readonly TextKey[] = ["warnings.done-coated", "warnings.done-checked", "warnings.done-seen"];
const aboutEquipment: readonly TextKey[] = ["warnings.done-seen", "warnings.done-checked"];

const usual: Partial<Record<Rule, readonly TextKey[]>> = {
  cold: aboutAir,
  heat: aboutAir,
  humidity: aboutAir,
  "dew-point-margin": aboutAir,
  "dew-point-ahead": aboutAir,
  condensation: aboutAir,
  "window-closing": aboutCoats,
  "window-missed": aboutCoats,
  "not-today": ["warnings.done-moved", "warnings.done-seen"],
  promise: ["warnings.done-moved", "warnings.done-seen"],
  slipped: ["warnings.done-seen", "warnings.done-moved"],
  "moved-wet": aboutCoats,
};

/** The most usual first; a warning about equipment was seen to or checked. */
export function usualAnswers(rule: Rule): readonly TextKey[] {
  return usual[rule] ?? aboutEquipment;
}

export const setAsideMinutes = [15, 30, 60, 240] as const;

export const usualReasons = [
  "warnings.reason-known",
  "warnings.reason-part",
  "warnings.reason-sheet",
] as const satisfies readonly TextKey[];
