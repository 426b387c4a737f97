/** A mark as the stores keep it: quality and why, such as "bad: stuck". */
import { type Mark, markSchema } from "../../collector/readings.ts";

/** Null for a good reading, which has none. */
export function markText(mark: Mark | undefined): string | null {
  return mark === undefined ? null : `${mark.quality}: ${mark.why}`;
}

export function markFrom(text: string): Mark {
  const [quality, why] = text.split(": ", 2);
  return markSchema.parse({ quality, why });
}
