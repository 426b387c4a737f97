/** Figures and times in the shop's units and zone, for texts that are made here. */
import { DateTime } from "luxon";
import { type Quantity, quantities } from "../collector/readings.ts";
import type { StageName } from "./cure/sheet.ts";

export interface Words {
  temperature(celsius: number): string;
  /** A difference of temperatures: no offset between the scales. */
  difference(kelvin: number): string;
  /** A value of any quantity, with its unit. */
  measured(quantity: Quantity, value: number): string;
  /** A difference of two such values. */
  apart(quantity: Quantity, difference: number): string;
  time(atMs: number): string;
  /** With the day's name where it is another day than `nowMs`. */
  when(atMs: number, nowMs: number): string;
}

/** A stage in the trade's words, where they differ from its name. */
const stageWords: Partial<Record<StageName, string>> = {
  "touch-dry": "touch dry",
  "dust-free": "dust free",
  "tack-free": "tack free",
  demask: "unmask",
  assemble: "reassemble",
  "full-cure": "full cure",
};

export function stageWord(stage: StageName): string {
  return stageWords[stage] ?? stage;
}

export function wordsOf(shop: { timeZone: string; units: { temperature: "C" | "F"; clock: "24h" | "12h" } }): Words {
  const { temperature, clock } = shop.units;
  const local = (atMs: number) => DateTime.fromMillis(atMs, { zone: shop.timeZone, locale: "en" });
  const time = (atMs: number) => local(atMs).toFormat(clock === "24h" ? "HH:mm" : "h:mm a");
  const figure = (value: number) => (Math.round(value * 10) / 10).toString();
  const celsiusWords = (celsius: number) =>
    temperature === "C" ? `${figure(celsius)} °C` : `${figure(celsius * 1.8 + 32)} °F`;
  const kelvinWords = (kelvin: number) => (temperature === "C" ? `${figure(kelvin)} °C` : `${figure(kelvin * 1.8)} °F`);
  const valueWords = (quantity: Quantity, value: number) =>
    quantity === "air-humidity" ? `${figure(value)} %` : `${figure(value)} ${quantities[quantity].unit}`;
  const isTemperature = (quantity: Quantity) => quantities[quantity].unit === "Cel";
  return {
    temperature: celsiusWords,
    difference: kelvinWords,
    measured: (quantity, value) => (isTemperature(quantity) ? celsiusWords(value) : valueWords(quantity, value)),
    apart: (quantity, difference) =>
      isTemperature(quantity) ? kelvinWords(difference) : valueWords(quantity, difference),
    time,
    when: (atMs, nowMs) =>
      local(atMs).hasSame(local(nowMs), "day") ? time(atMs) : `${local(atMs).toFormat("cccc")} ${time(atMs)}`,
  };
}
