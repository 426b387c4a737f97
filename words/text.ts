/** A text as data: which sentence of the catalogue, and the figures in it. It is put into words where its reader is known. */
import type { TextKey } from "./en.ts";

export type { TextKey } from "./en.ts";

/** A figure keeps its kind until it is written: units, zone and language are its reader's. */
export type Value =
  | string
  | number
  /** A temperature, and a difference of temperatures. */
  | { celsius: number }
  | { kelvin: number }
  /** An instant as a time of day, with the day where it is not that of `nowMs`, or with the date always. */
  | { timeMs: number; nowMs?: number }
  | { dateMs: number }
  /** What a person named, translated where the catalogue knows it by `prefix.name`. */
  | { prefix: string; name: string }
  /** One after another, with commas. */
  | readonly Value[]
  | Text;

export interface Text {
  key: TextKey;
  values?: Readonly<Record<string, Value>>;
}

export function text(key: TextKey, values?: Text["values"]): Text {
  return values === undefined ? { key } : { key, values };
}
