/** Texts, figures and times in a reader's language, and in the shop's units and zone. Pages and predictor write by the same rules. */
import { IntlMessageFormat } from "intl-messageformat";
import { type Language, locales } from "./language.ts";
import type { Message } from "./message.ts";
import type { Text, TextKey, Value } from "./text.ts";

export interface WordsSettings {
  language: Language;
  timeZone: string;
  units: { temperature: "C" | "F"; clock: "24h" | "12h" };
}

export interface Words {
  language: Language;
  /** A text of the catalogue. A value it lacks is an Error: a sentence with a hole says nothing. */
  say(text: Text): string;
  /** The same, by its key. */
  t(key: TextKey, values?: Text["values"]): string;
  /** What a person named, such as a panel, in this language where the catalogue knows it by `prefix.name`; else as it was named. */
  named(prefix: string, name: string): string;
  number(value: number, digits: number): string;
  /** "°C" or "°F". */
  temperatureUnit: string;
  /** A temperature as it was typed in the shop's unit, in °C. */
  celsius(typed: number): number;
  /** With one decimal and the unit's sign. */
  temperature(celsius: number): string;
  /** A difference of temperatures: no offset between the scales. */
  difference(kelvin: number): string;
  time(atMs: number): string;
  /** With the day's name where it is another day than `nowMs`, with the date where that is six days away or more. */
  when(atMs: number, nowMs: number): string;
  /** Date and time. */
  dateTime(atMs: number): string;
}

/**
 * Words from the messages of a language. Throws RangeError when the zone is unknown. Instants are UTC ms; one that is not finite
 * gives an empty string. A key that `messageOf` does not know is written as it is.
 */
export function writeIn(
  { language, timeZone, units }: WordsSettings,
  messageOf: (key: string) => Message | undefined,
): Words {
  const locale = locales[language];
  const formats = new Map<string, IntlMessageFormat>();
  const clock: Intl.DateTimeFormatOptions =
    units.clock === "24h"
      ? { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }
      : { hour: "numeric", minute: "2-digit", hourCycle: "h12" };
  const timeFormat = new Intl.DateTimeFormat(locale, { timeZone, ...clock });
  const weekday = new Intl.DateTimeFormat(locale, { timeZone, weekday: "short" });
  const dayMonth = new Intl.DateTimeFormat(locale, { timeZone, day: "numeric", month: "short" });
  const date = new Intl.DateTimeFormat(locale, { timeZone, day: "numeric", month: "short", year: "numeric" });
  const isoDate = new Intl.DateTimeFormat("sv-SE", { timeZone, dateStyle: "short" });
  const numbers = new Map<number, Intl.NumberFormat>();

  const number = (value: number, digits: number) => {
    let format = numbers.get(digits);
    if (format === undefined) {
      format = new Intl.NumberFormat(locale, {
        minimumFractionDigits: digits,
        maximumFractionDigits: digits,
        signDisplay: "negative",
      });
      numbers.set(digits, format);
    }
    return format.format(value).replace("-", "−");
  };
  const short = (value: number) => number(value, Number.isInteger(Math.round(value * 10) / 10) ? 0 : 1);
  const sign = `°${units.temperature}`;
  const time = (atMs: number) => (Number.isFinite(atMs) ? timeFormat.format(atMs).toLowerCase() : "");
  const dayOf = (atMs: number) => Date.parse(isoDate.format(atMs)) / 86_400_000;
  const words: Words = {
    language,
    say: ({ key, values }) => words.t(key, values),
    t(key, values = {}) {
      const message = messageOf(key) ?? key;
      if (typeof message === "string") return message;
      let format = formats.get(key);
      if (format === undefined) {
        format = new IntlMessageFormat(message, locale);
        formats.set(key, format);
      }
      const written = Object.fromEntries(Object.entries(values).map(([name, value]) => [name, write(value)]));
      return String(format.format(written));
    },
    named(prefix, name) {
      const message = messageOf(`${prefix}.${name.replaceAll(" ", "-")}`);
      return typeof message === "string" ? message : name;
    },
    number,
    temperatureUnit: sign,
    celsius: (typed) => (units.temperature === "F" ? (typed - 32) / 1.8 : typed),
    temperature: (celsius) => `${short(units.temperature === "F" ? celsius * 1.8 + 32 : celsius)} ${sign}`,
    difference: (kelvin) => `${short(units.temperature === "F" ? kelvin * 1.8 : kelvin)} ${sign}`,
    time,
    when(atMs, nowMs) {
      if (!(Number.isFinite(atMs) && Number.isFinite(nowMs))) return "";
      const days = dayOf(atMs) - dayOf(nowMs);
      if (days === 0) return time(atMs);
      return `${(Math.abs(days) < 6 ? weekday : dayMonth).format(atMs)} ${time(atMs)}`;
    },
    dateTime: (atMs) => (Number.isFinite(atMs) ? `${date.format(atMs)} ${time(atMs)}` : ""),
  };
  const write = (value: Value): string | number => {
    if (typeof value !== "object") return value;
    if (isList(value)) return value.map(write).join(", ");
    if ("celsius" in value) return words.temperature(value.celsius);
    if ("kelvin" in value) return words.difference(value.kelvin);
    if ("timeMs" in value)
      return value.nowMs === undefined ? time(value.timeMs) : words.when(value.timeMs, value.nowMs);
    if ("dateMs" in value) return words.dateTime(value.dateMs);
    if ("prefix" in value) return words.named(value.prefix, value.name);
    return words.say(value);
  };
  return words;
}

function isList(value: object): value is readonly Value[] {
  return Array.isArray(value);
}
