/** A reading as SQLite has it in a row. */
import { type Mark, markSchema } from "../../collector/readings.ts";
import type { Sample } from "./store.ts";

export interface SampleRow {
  atMs: number;
  value: number;
  /** Quality and why, such as "bad: stuck"; null for a good one. */
  mark: string | null;
}

export function markText(mark: Mark | undefined): string | null {
  return mark === undefined ? null : `${mark.quality}: ${mark.why}`;
}

export function sampleOf({ atMs, value, mark }: SampleRow): Pick<Sample, "atMs" | "value" | "mark"> {
  if (mark === null) return { atMs, value };
  const [quality, why] = mark.split(": ", 2);
  return { atMs, value, mark: markSchema.parse({ quality, why }) };
}
