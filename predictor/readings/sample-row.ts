/** A reading as SQLite has it in a row. */
import { markFrom } from "./mark-text.ts";
import type { Sample } from "./store.ts";

export interface SampleRow {
  atMs: number;
  value: number;
  /** See mark-text.ts; null for a good one. */
  mark: string | null;
}

export function sampleOf({ atMs, value, mark }: SampleRow): Pick<Sample, "atMs" | "value" | "mark"> {
  return mark === null ? { atMs, value } : { atMs, value, mark: markFrom(mark) };
}
