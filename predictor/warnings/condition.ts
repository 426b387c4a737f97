/** What can be warned of, and how one such condition is told. */

export const rules = [
  "cold",
  "heat",
  "humidity",
  "dew-point-margin",
  "window-closing",
  "pot-life",
  "not-today",
  "silent-sensor",
  "bad-sensor",
  "sensors-disagree",
  "calibration-due",
  "clock",
  "outbox",
  "store",
] as const;
export type Rule = (typeof rules)[number];

export interface Condition {
  /** Tells one warning from another in a place: the rule, and the coat or quantity where there can be several. */
  key: string;
  rule: Rule;
  urgency: "now" | "soon";
  text: string;
  action: string;
  coatId: string | null;
}
