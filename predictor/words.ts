/** Figures and times in the shop's units and zone, for texts that are made here. */
import { DateTime } from "luxon";

export interface Words {
  temperature(celsius: number): string;
  /** A difference of temperatures: no offset between the scales. */
  difference(kelvin: number): string;
  time(atMs: number): string;
}

export function wordsOf(shop: { timeZone: string; units: { temperature: "C" | "F"; clock: "24h" | "12h" } }): Words {
  const { temperature, clock } = shop.units;
  const figure = (value: number) => (Math.round(value * 10) / 10).toString();
  return {
    temperature: (celsius) => (temperature === "C" ? `${figure(celsius)} °C` : `${figure(celsius * 1.8 + 32)} °F`),
    difference: (kelvin) => (temperature === "C" ? `${figure(kelvin)} °C` : `${figure(kelvin * 1.8)} °F`),
    time: (atMs) =>
      DateTime.fromMillis(atMs, { zone: shop.timeZone, locale: "en" }).toFormat(clock === "24h" ? "HH:mm" : "h:mm a"),
  };
}
