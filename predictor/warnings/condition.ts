/** What can be warned of, and how one such condition is told. */
import type { Text } from "../../words/text.ts";

export const rules = [
  "cold",
  "heat",
  "humidity",
  "dew-point-margin",
  "dew-point-ahead",
  "condensation",
  "window-closing",
  "window-missed",
  "pot-life",
  "not-today",
  "promise",
  "slipped",
  "moved-wet",
  "silent-sensor",
  "bad-sensor",
  "sensors-disagree",
  "calibration-due",
  "clock",
  "outbox",
  "store",
  "records",
] as const;
export type Rule = (typeof rules)[number];

/** How soon a hand is wanted: at once, within the quarter hour, before work ends. */
export const urgencies = ["now", "soon", "today"] as const;
export type Urgency = (typeof urgencies)[number];

export interface Condition {
  /** Tells one warning from another in a place: the rule, and the coat or quantity where there can be several. */
  key: string;
  rule: Rule;
  urgency: Urgency;
  /** What is the matter; what follows if nothing is done; what to do. */
  text: Text;
  consequence: Text;
  action: Text;
  /** Until when something can be done about it. */
  untilMs: number | null;
  coatId: string | null;
  carId: string | null;
}
