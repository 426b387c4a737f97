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
  "store-away",
  "records",
] as const;
export type Rule = (typeof rules)[number];

/** How soon a hand is wanted: at once, within the quarter hour, before work ends. */
export const urgencies = ["now", "soon", "today"] as const;
export type Urgency = (typeof urgencies)[number];

export interface Condition {
  /** Tells one fact from another: in the whole shop where it is shared, else in its place. */
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
  /** One fact of the shop, in however many places it shows. */
  isShared: boolean;
  /** Which of these places it stands in; null for the first. */
  home: string | null;
  /** The coat or pot that it is about: without it, it is over at once. */
  subject: string | null;
  /** The key of the fact that is over at once because this one has come. */
  replaces: string | null;
}

/** Of a place, and of nothing in it. */
export const ofPlace = {
  untilMs: null,
  coatId: null,
  carId: null,
  isShared: false,
  home: null,
  subject: null,
  replaces: null,
} as const;

/** Tells whether a fact is warned of already: such a one is over only past its deadband. */
export type IsActive = (key: string) => boolean;

/** A condition as it stands in the shop, with a key that is its own there. */
export interface Standing extends Condition {
  place: string;
  /** Where else it shows. */
  alsoAt: readonly string[];
}
