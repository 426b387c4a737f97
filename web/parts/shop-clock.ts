/** A shop's times of day, written by its words. Instants come in as UTC milliseconds or ISO text; nothing here reads a clock. */
import type { Shop } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";

const minuteMs = 60_000;
const dayMs = 86_400_000;

/** A shop's clock, and its words. All arguments are UTC milliseconds; an instant that is not finite gives an empty string. */
export interface ShopClock {
  /** What the page is written with. */
  words: Words;
  /** "10:42", or "10:42 am" in a 12-hour shop. */
  time(atMs: number): string;
  /** The time, with the weekday when it is not today, with day and month when it is six days away or more. */
  when(atMs: number, nowMs: number): string;
  /** Like `when`, without the day where it is that of `firstMs`, which stands before it. */
  whenAfter(firstMs: number, atMs: number, nowMs: number): string;
  /** Minutes since the shop's midnight, 0 to 1439. */
  minuteOfDay(atMs: number): number;
  /** What the shop's wall clock is ahead of UTC at that instant, in milliseconds. */
  offsetMs(atMs: number): number;
}

/**
 * The clock of a shop whose words these are.
 * @throws RangeError when the time zone is unknown to the browser.
 */
export function shopClock(timeZone: string, words: Words): ShopClock {
  const fields = new Intl.DateTimeFormat("en-GB", {
    timeZone,
    year: "numeric",
    month: "numeric",
    day: "numeric",
    hour: "numeric",
    minute: "numeric",
    second: "numeric",
    hourCycle: "h23",
  });

  const offsetMs = (atMs: number) => {
    const part: Record<string, number> = {};
    for (const { type, value } of fields.formatToParts(atMs)) part[type] = Number(value);
    const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = part;
    return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(atMs / 1000) * 1000;
  };
  const localDay = (atMs: number) => Math.floor((atMs + offsetMs(atMs)) / dayMs);

  return {
    words,
    time: words.time,
    when: words.when,
    whenAfter: (firstMs, atMs, nowMs) =>
      localDay(atMs) === localDay(firstMs) ? words.time(atMs) : words.when(atMs, nowMs),
    minuteOfDay: (atMs) => Math.floor((atMs + offsetMs(atMs) - localDay(atMs) * dayMs) / minuteMs),
    offsetMs,
  };
}

/** The text with its first letter in upper case. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** ISO text to UTC milliseconds; null for null and for text that is no instant. */
export function msOf(iso: string | null): number | null {
  if (iso === null) return null;
  const ms = Date.parse(iso);
  return Number.isFinite(ms) ? ms : null;
}

/** How long ago, in words: "40 s", "12 min", "3 h", "2 days". Ages below zero count as zero; NaN gives "unknown". */
export function ageText(ageMs: number, words: Words): string {
  if (Number.isNaN(ageMs)) return words.t("age.unknown");
  const seconds = Math.max(0, Math.floor(ageMs / 1000));
  if (seconds < 100) return words.t("age.seconds", { count: seconds });
  const minutes = Math.floor(seconds / 60);
  if (minutes < 100) return words.t("age.minutes", { count: minutes });
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? words.t("age.hours", { count: hours }) : words.t("age.days", { count: Math.floor(hours / 24) });
}

/** °C to the shop's unit. */
export function inUnit(celsius: number, unit: "C" | "F"): number {
  return unit === "F" ? celsius * 1.8 + 32 : celsius;
}

/** A difference of temperatures to the shop's unit. */
export function differenceIn(kelvin: number, unit: "C" | "F"): number {
  return unit === "F" ? kelvin * 1.8 : kelvin;
}

/**
 * Whether the wall is dimmed: from `from` until `to` in local minutes, over midnight when `to` is not after `from`.
 * Hours are "20" or "20:00"; text that is neither never dims.
 */
export function isDim(hours: Shop["dim"], minuteOfDay: number): boolean {
  if (hours === null) return false;
  const from = minutesOf(hours.from);
  const to = minutesOf(hours.to);
  if (from === null || to === null || from === to) return false;
  return from < to ? minuteOfDay >= from && minuteOfDay < to : minuteOfDay >= from || minuteOfDay < to;
}

function minutesOf(hour: string): number | null {
  const match = /^(\d{1,2})(?::(\d{2}))?$/.exec(hour);
  if (match === null) return null;
  const minutes = Number(match[1]) * 60 + Number(match[2] ?? 0);
  return minutes <= 1440 ? minutes : null;
}
