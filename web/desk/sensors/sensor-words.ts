/** Figures of sensors in the reader's words and the shop's units. */
import type { SensorSetting, SensorView } from "../../../predictor/serve/sensor-api.ts";
import type { TextKey } from "../../../words/text.ts";
import type { Words } from "../../../words/words.ts";

export type Quantity = SensorView["quantity"];

const otherUnits: Partial<Record<Quantity, string>> = { "air-speed": "m/s", "air-pressure": "Pa" };
const isTemperature = (quantity: Quantity) => quantity === "air-temperature" || quantity === "panel-temperature";

export const quantityText = (quantity: Quantity, words: Words): string => words.t(`quantity.${quantity}`);

/** A value in the shop's unit; SI in. */
export function valueText(quantity: Quantity, value: number, words: Words): string {
  return isTemperature(quantity) ? words.temperature(value) : otherText(quantity, value, words);
}

/** How far apart, or what is added: no offset between the scales of temperature. Without its sign. */
export function apartText(quantity: Quantity, difference: number, words: Words): string {
  const size = Math.abs(difference);
  return isTemperature(quantity) ? words.difference(size) : otherText(quantity, size, words);
}

export function signedText(quantity: Quantity, difference: number, words: Words): string {
  const size = apartText(quantity, difference, words);
  if (difference === 0) return size;
  return `${difference > 0 ? "+" : "−"}${size}`;
}

function otherText(quantity: Quantity, value: number, words: Words): string {
  const unit = otherUnits[quantity];
  if (unit === undefined) return words.t("figure.percent-fine", { percent: value });
  return words.t("figure.unit", { value, unit });
}

/** What is done to a reading. With a slope the offset belongs to the shop file's °C, and is written so whatever the shop's unit. */
export function correctionText(quantity: Quantity, { slope, offset }: SensorSetting, words: Words): string {
  if (slope === 1 && offset === 0) return words.t("sensors.correction-none");
  if (slope === 1) return signedText(quantity, offset, words);
  const unit = isTemperature(quantity) ? "°C" : (otherUnits[quantity] ?? "%");
  const size = words.t("figure.unit", { value: Math.abs(offset), unit });
  const added = offset === 0 ? "" : `${offset > 0 ? "+" : "−"} ${size}`;
  return words.t("sensors.correction", { slope: words.number(slope, 3), offset: added }).trim();
}

const locales: Record<Words["language"], string> = { en: "en-GB", de: "de-DE" };

/** A date of the calendar, such as 2026-03-02, as it is written; `form` "column" has weekday and day of the month alone. */
export function dayText(date: string, words: Words, form: "whole" | "column" = "whole"): string {
  const options: Intl.DateTimeFormatOptions =
    form === "whole" ? { day: "numeric", month: "short", year: "numeric" } : { weekday: "short", day: "numeric" };
  return new Intl.DateTimeFormat(locales[words.language], { timeZone: "UTC", ...options }).format(Date.parse(date));
}

export const healthKey = (health: SensorView["health"]): TextKey =>
  `sensors.health-${health.replaceAll(" ", "-") as "sound"}`;
